import { canonical } from '../canonical.ts';
import type { Finish, StoredFinish } from '../finish/finish.ts';
import { formatColour } from '../finish/format-colour.ts';

/** One field that differs, before and after in a few words; null where it says nothing. */
export interface FieldChange {
  readonly field: string;
  readonly before: string | null;
  readonly after: string | null;
}

/** Longer values are cut: a dry run is read line by line. */
const MOST_CHARACTERS = 160;

/** The fields that differ, by name, whatever the order they are written in. */
export function listChanges({ revision: _, ...before }: StoredFinish, after: Finish): FieldChange[] {
  const keys = new Set([...Object.keys(before), ...Object.keys(after)]) as Set<keyof Finish>;
  return [...keys]
    .filter((key) => canonical(before[key]) !== canonical(after[key]))
    .sort()
    .map((field) => ({ field, before: sayField(before, field), after: sayField(after, field) }));
}

function sayField(finish: Finish, field: keyof Finish): string | null {
  const value = finish[field];
  if (value === undefined || value === null) return null;
  const { colour } = finish;
  const words = field === 'colour' && colour ? formatColour(colour) : sayValue(value);
  return words.length > MOST_CHARACTERS ? `${words.slice(0, MOST_CHARACTERS - 1)}…` : words;
}

/** `warm, outdoor`; `de Bergsee, fr Lac`; `gu60 30`. */
export function sayValue(value: unknown): string {
  if (Array.isArray(value)) return value.map(sayValue).join(', ');
  if (typeof value !== 'object' || value === null) return String(value);
  return Object.entries(value)
    .map(([key, each]) => `${key} ${sayValue(each)}`)
    .join(', ');
}
