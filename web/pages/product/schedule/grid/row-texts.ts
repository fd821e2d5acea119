import { CODE_LENGTH, foldCode, NAME_LENGTH } from '../../../../../server/core/codes.ts';
import { makeNamer } from '../../../../../server/core/schedule/name-rows.ts';
import { followsTemplate, type RowTexts } from '../../../../../server/core/schedule/row-template.ts';
import { changeRows, type Draft, type Row } from '../schedule-draft.ts';

/** The code and name that the template gives to choices. */
export type TextsOf = (choices: Row['choices']) => RowTexts;

/**
 * Lets codes and names follow the choices that a change made: a text that the template gave before is what it gives now.
 * A text that a person wrote stays.
 */
export function followChoices(before: Draft, after: Draft, textsOf: TextsOf): Draft {
  if (before.rows === after.rows) return after;
  const was = new Map(before.rows.map((row) => [row.key, row]));
  const renamed = new Map<number, { readonly name: boolean; readonly code: boolean }>();
  for (const row of after.rows) {
    const old = was.get(row.key);
    if (!old || old.choices === row.choices) continue;
    const texts = textsOf(old.choices);
    const name = row.name === old.name && followsTemplate(row.name, texts.name, ' ');
    const code = row.code === old.code && texts.code !== '' && followsTemplate(row.code, texts.code, '-');
    if (name || code) renamed.set(row.key, { name, code });
  }
  return rename(after, renamed, textsOf);
}

/** Gives rows the name of the template, and those of `codes` its code too. */
export function useTemplate(
  draft: Draft,
  names: ReadonlySet<number>,
  textsOf: TextsOf,
  codes: ReadonlySet<number> = new Set(),
): Draft {
  const keys = new Set([...names, ...codes]);
  return rename(draft, new Map([...keys].map((key) => [key, { name: names.has(key), code: codes.has(key) }])), textsOf);
}

function rename(
  draft: Draft,
  renamed: ReadonlyMap<number, { readonly name: boolean; readonly code: boolean }>,
  textsOf: TextsOf,
): Draft {
  if (renamed.size === 0) return draft;
  const nameRow = makeNamer(
    draft.rows.flatMap(({ key, name }) => (renamed.get(key)?.name ? [] : [name.trim()])),
    ' ',
    NAME_LENGTH.max,
  );
  const nameCode = makeNamer(
    draft.rows.flatMap(({ key, code }) => (renamed.get(key)?.code ? [] : [foldCode(code)])),
    '-',
    CODE_LENGTH,
  );
  return changeRows(draft, new Set(renamed.keys()), (row) => {
    const wanted = renamed.get(row.key)!;
    const texts = textsOf(row.choices);
    return {
      ...row,
      ...(wanted.name && { name: nameRow(texts.name) }),
      ...(wanted.code && texts.code !== '' && { code: nameCode(texts.code) }),
    };
  });
}

/** Rows whose name or code is what the template gives. In the others a person wrote it. */
export function listFollowing(draft: Draft, textsOf: TextsOf, field: 'name' | 'code'): Set<number> {
  const between = field === 'name' ? ' ' : '-';
  return new Set(
    draft.rows.flatMap((row) => (followsTemplate(row[field], textsOf(row.choices)[field], between) ? [row.key] : [])),
  );
}
