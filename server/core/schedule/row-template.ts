import { CODE_LENGTH, foldCode, NAME_LENGTH, toCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import { SLICE, type Sliced } from '../slices.ts';
import { AS_SUPPLIED, fillIn, leaveRoom, makeNamer, makePattern } from './name-rows.ts';
import { choiceOf, type RowTemplate, type Schedule, type Variant } from './schedule.ts';

type Choices = Readonly<Record<string, string>>;

export interface RowTexts {
  readonly name: string;
  /** Empty where no slot has a finish. */
  readonly code: string;
}

/**
 * Makes the function that gives a row's code and name by the template. Where a template is absent, a name has all finishes
 * with “/” between them, and a code all codes with “-”.
 * @param slots the slots a template may use, in the order of the columns
 * @param getFinish by code; undefined for an unknown one
 */
export function makeRowTexts(
  template: RowTemplate | undefined,
  slots: readonly string[],
  getFinish: (code: string) => Pick<Finish, 'finish' | 'name'> | undefined,
): (choices: Choices) => RowTexts {
  const names = template?.name ?? makePattern(slots);
  const codes = template?.code ?? slots.map((slot) => `{${slot}}`).join('-');
  return (choices) => {
    const byName = new Map<string, string>();
    const byCode = new Map<string, string>();
    for (const slot of slots) {
      const chosen = choiceOf(choices, slot);
      const finish = chosen === undefined ? undefined : getFinish(chosen);
      byName.set(slot, finish?.name ?? AS_SUPPLIED);
      byCode.set(slot, finish?.finish ?? '');
    }
    const code = codes.replace(/\{([a-z0-9-]+)\}/g, (whole, slot: string) => byCode.get(slot) ?? whole);
    return { name: fillIn(names, byName), code: leaveRoom(toCode(code), CODE_LENGTH).replace(/-+$/, '') };
  };
}

/** Whether a text is what the template gives, perhaps with a number that makes it unique. */
export function followsTemplate(text: string, wanted: string, between: ' ' | '-'): boolean {
  if (text === wanted) return true;
  if (wanted === '' || !text.startsWith(wanted + between)) return false;
  return /^[1-9]\d*$/.test(text.slice(wanted.length + between.length));
}

/**
 * Gives rows the codes and names of the template, in slices. They differ from those of all other rows.
 * @param named folded codes of the rows to name
 */
export function* applyTemplate(
  schedule: Schedule,
  slots: readonly string[],
  finishes: ReadonlyMap<string, Finish>,
  template: RowTemplate,
  named: ReadonlySet<string>,
): Sliced<Variant[]> {
  const textsOf = makeRowTexts(template, slots, (code) => finishes.get(foldCode(code)));
  const others = schedule.variants.filter(({ code }) => !named.has(foldCode(code)));
  const nameRow = makeNamer(
    others.map(({ name }) => name),
    ' ',
    NAME_LENGTH.max,
  );
  const nameCode = makeNamer(
    others.map(({ code }) => code),
    '-',
    CODE_LENGTH,
  );
  const rename = (variant: Variant): Variant => {
    if (!named.has(foldCode(variant.code))) return variant;
    const { name, code } = textsOf(variant.choices);
    return {
      ...variant,
      ...(template.name !== undefined && { name: nameRow(name) }),
      code: nameCode(template.code !== undefined && code !== '' ? code : variant.code),
    };
  };
  const rows: Variant[] = [];
  for (const variant of schedule.variants) {
    if (rows.length % SLICE === 0) yield;
    rows.push(rename(variant));
  }
  return rows;
}
