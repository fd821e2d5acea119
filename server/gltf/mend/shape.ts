/** The arrays of a document that indices point into; lights stand in the extension of that name. */
export type Target =
  | 'accessors'
  | 'bufferViews'
  | 'cameras'
  | 'images'
  | 'lights'
  | 'materials'
  | 'nodes'
  | 'samplers'
  | 'scenes'
  | 'skins'
  | 'textures'
  | 'variants';

/**
 * What glTF lets a property hold. A value that is something else is brought to what was meant where that is plain (a number
 * written as text, one beyond its range), and left out where not, so that the standard's default holds.
 */
export type Shape =
  /** Finite in single precision; `above` is a bound it may not reach, `or` are values allowed beside the range. */
  | {
      readonly is: 'number';
      readonly min?: number;
      readonly max?: number;
      readonly above?: number;
      readonly or?: number;
    }
  | { readonly is: 'whole' }
  /** A list of numbers; of any length without one. */
  | { readonly is: 'numbers'; readonly length?: number; readonly min?: number; readonly max?: number }
  | { readonly is: 'flag' }
  | { readonly is: 'text' }
  | { readonly is: 'choice'; readonly of: readonly (string | number)[] }
  | { readonly is: 'index'; readonly of: Target }
  /** A list: of its items those that cannot be mended go, or stay in their places where indices point into it (`keeps`). */
  | { readonly is: 'list'; readonly of: Shape; readonly filled?: boolean; readonly keeps?: boolean }
  /** Names to values of one shape, at least one. */
  | { readonly is: 'map'; readonly of: Shape }
  | ObjectShape;

export interface ObjectShape {
  readonly is: 'object';
  readonly fields: Readonly<Record<string, Shape>>;
  /** Without these the whole object is left out. */
  readonly needs?: readonly string[];
  /** Extensions known here that may stand in it. */
  readonly extensions?: Readonly<Record<string, Shape>>;
}

export const FLAG: Shape = { is: 'flag' };
export const TEXT: Shape = { is: 'text' };
export const WHOLE: Shape = { is: 'whole' };
export const NUMBER: Shape = { is: 'number' };
export const POSITIVE: Shape = { is: 'number', min: 0 };
/** 0 to 1. */
export const SHARE: Shape = { is: 'number', min: 0, max: 1 };

export const numbers = (length?: number): Shape => ({ is: 'numbers', ...(length !== undefined && { length }) });
/** Linear colour, each channel 0 to 1. */
export const colour = (length: 3 | 4): Shape => ({ is: 'numbers', length, min: 0, max: 1 });
export const choice = (...of: (string | number)[]): Shape => ({ is: 'choice', of });
export const indexOf = (of: Target): Shape => ({ is: 'index', of });
export const listOf = (of: Shape): Shape => ({ is: 'list', of });

export function object(
  fields: ObjectShape['fields'],
  more: Pick<ObjectShape, 'needs' | 'extensions'> = {},
): ObjectShape {
  return { is: 'object', fields, ...more };
}
