import { sayFamily } from '../finish/families.ts';
import type { Place, Position, Rule } from './line.ts';

/** A rule in plain words, with the labels of its positions: “Seat” in … never goes with “Piping” in …. */
export function describeRule(rule: Rule, positions: readonly Position[]): string {
  const labels = new Map(positions.map(({ position, label }) => [position, label]));
  const name = (position: string) => `“${labels.get(position) ?? position}”`;
  const place = (given: Place) => `${name(given.position)} in ${sayFinishes(given)}`;
  if ('excludes' in rule) return `${place(rule.when)} never goes with ${place(rule.excludes)}`;
  if ('requires' in rule) return `${place(rule.when)} goes only with ${place(rule.requires)}`;
  const { when } = rule;
  const where = isAny(when) ? '' : `where ${name(when.position)} is in ${sayFinishes(when)}, `;
  if ('sameAs' in rule) return `${where}${name(rule.sameAs.position)} has the same finish as ${name(when.position)}`;
  return `${where}${name(rule.companion.position)} has the companion of the finish on ${name(when.position)}`;
}

function isAny({ finish, family, tag, grade }: Place): boolean {
  return finish === undefined && family === undefined && tag === undefined && grade === undefined;
}

function sayFinishes({ finish, family, tag, grade }: Place): string {
  if (finish !== undefined) return finish;
  if (family !== undefined) return `any ${sayFamily(family)}`;
  if (tag !== undefined) return `anything tagged “${tag}”`;
  return grade !== undefined ? `any finish of grade ${grade}` : 'any finish';
}
