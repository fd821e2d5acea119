import type { ValidatorMessage, ValidatorResult } from '../product/survey.ts';

/** The validator's errors by code, each with how often; as far as its messages were kept. */
export function countErrors({ messages }: ValidatorResult): Record<string, number> {
  const counts = new Map<string, number>();
  for (const { code, severity } of messages) if (severity === 0) counts.set(code, (counts.get(code) ?? 0) + 1);
  return Object.fromEntries(counts);
}

/**
 * How many errors of a written file are not the source's own. Finishes copy what belongs to a part onto several materials, so
 * that one error of the source may stand in many places: it is known by its code and by the property it is in, whatever the
 * indices on the way.
 */
export function countAdded(written: readonly ValidatorMessage[], source: readonly ValidatorMessage[]): number {
  const known = new Set(source.map(keyOf));
  return written.filter((message) => message.severity === 0 && !known.has(keyOf(message))).length;
}

function keyOf({ code, pointer }: ValidatorMessage): string {
  return `${code} ${pointer.replace(VARIANT_MATERIAL, '/material').replace(/\/\d+/g, '/*')}`;
}

/** What a primitive wears in a variant is checked as what it wears at first. */
const VARIANT_MATERIAL = /\/extensions\/KHR_materials_variants\/mappings\/\d+\/material$/;
