/**
 * A value of the file that cannot be right, found when it was read. The stored model keeps it; whatever is made of the model
 * (survey, repairs, deliveries, pictures) has what is used in its place.
 */
export interface Damage {
  readonly code: DamageCode;
  /** The object it is in, for a person: `material “Oak”`. */
  readonly place: string;
  /** Which of its properties, in words: `normal texture, scale`. */
  readonly what: string;
  /** JSON pointer into the stored model. */
  readonly where: string;
  /** What stands there, and what belongs there, in words. */
  readonly seen: string;
  readonly expected: string;
  /** What is used instead, in words; null where it is left out, so that glTF's default holds. */
  readonly used: string | null;
}

export type DamageCode =
  | 'damaged-value'
  | 'dangling-reference'
  | 'damaged-animation'
  | 'no-scene'
  | 'undeclared-extension';

/** Damages kept with a survey; a broken export can have one for every object. */
export const DAMAGE_LIMIT = 1000;
