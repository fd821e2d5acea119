import { CODE_LENGTH, NAME_LENGTH, RESERVED, toCode, toName } from '../codes.ts';
import type { VariantPart } from '../ports/models.ts';
import { makeNamer } from './name-rows.ts';
import type { Schedule, Variant } from './schedule.ts';

/** Name of the row for the model's look before a choice, where none of its variants looks like that. */
const AS_SUPPLIED_NAME = 'As supplied';

/**
 * Makes a schedule of a model's own variants: a row for each, in the file's order, with its name; empty and repeated
 * names are numbered. The default is the first variant in which every part has its own material. Where there is no such
 * variant, a first row is added for the model as it arrived.
 * @param slotOf slot of a part that varies
 * @param finishOf finish of a material; glTF's default material has none, and its cell stays empty
 */
export function planScheduleFromVariants(
  variants: readonly string[],
  parts: readonly VariantPart[],
  slotOf: (part: VariantPart) => string,
  finishOf: ReadonlyMap<number, string>,
): Schedule {
  const varying = parts.filter(({ varies }) => varies).map((part) => ({ part, slot: slotOf(part) }));
  const nameRow = makeNamer([], ' ', NAME_LENGTH.max);
  const nameCode = makeNamer(RESERVED, '-', CODE_LENGTH);
  const makeRow = (name: string, getMaterial: (part: VariantPart) => number | null): Variant => {
    const choices = varying.flatMap(({ part, slot }) => {
      const finish = finishOf.get(getMaterial(part) ?? -1);
      return finish === undefined ? [] : [[slot, finish] as const];
    });
    return { code: nameCode(toCode(name) || 'variant'), name: nameRow(name), choices: Object.fromEntries(choices) };
  };
  const rows = variants.map((name, at) =>
    makeRow(toName(name) || `Variant ${at + 1}`, ({ byVariant }) => byVariant[at] ?? null),
  );
  const shown = variants.findIndex((_, at) => varying.every(({ part }) => part.byVariant[at] === part.own));
  if (shown >= 0) return { default: rows[shown]!.code, variants: rows };
  const first = makeRow(AS_SUPPLIED_NAME, ({ own }) => own);
  return { default: first.code, variants: [first, ...rows] };
}
