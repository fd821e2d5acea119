import { CODE_LENGTH, foldCode, NAME_LENGTH, toCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import { SLICE, type Sliced } from '../slices.ts';
import { AS_SUPPLIED, leaveRoom, makeNamer, makePattern, tidyName } from './name-rows.ts';
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
  getFinish: (code: string) => Named | undefined,
): (choices: Choices) => RowTexts {
  const names = readPattern(template?.name ?? makePattern(slots), slots);
  const codes = readPattern(template?.code ?? slots.map((slot) => `{${slot}}`).join('-'), slots);
  const fill = (parts: readonly Part[], choices: Choices, read: (finish: Named | undefined) => string) =>
    parts.map((part) => (typeof part === 'string' ? part : read(getChosen(choices, part.slot)))).join('');
  const getChosen = (choices: Choices, slot: string) => {
    const chosen = choiceOf(choices, slot);
    return chosen === undefined ? undefined : getFinish(chosen);
  };
  // a page asks for every row with each change, and most rows keep their choices
  const known = new WeakMap<Choices, RowTexts>();
  return (choices) => {
    const before = known.get(choices);
    if (before) return before;
    const code = fill(codes, choices, (finish) => finish?.finish ?? '');
    const texts = {
      name: tidyName(fill(names, choices, (finish) => finish?.name ?? AS_SUPPLIED)),
      code: leaveRoom(toCode(code), CODE_LENGTH).replace(/-+$/, ''),
    };
    known.set(choices, texts);
    return texts;
  };
}

type Named = Pick<Finish, 'finish' | 'name'>;

/** A text as it stands, or the finish of a slot. */
type Part = string | { readonly slot: string };

function readPattern(pattern: string, slots: readonly string[]): Part[] {
  return pattern.split(/(\{[a-z0-9-]+\})/).map((part) => {
    const slot = part.slice(1, -1);
    return part.startsWith('{') && part.endsWith('}') && slots.includes(slot) ? { slot } : part;
  });
}

/** Whether a text is what the template gives, perhaps with a number that makes it unique. */
export function followsTemplate(text: string, wanted: string, between: ' ' | '-'): boolean {
  if (text === wanted) return true;
  if (wanted === '' || !text.startsWith(wanted + between)) return false;
  return /^[1-9]\d*$/.test(text.slice(wanted.length + between.length));
}

/**
 * Gives rows the codes and names of the template, in slices. They differ from those of all other rows. Where the template has no
 * name or no code, a row keeps its own.
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
