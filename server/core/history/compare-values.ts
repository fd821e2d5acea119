import { canonical, isPlain } from '../canonical.ts';

/** One field that differs. A side is left out where the field was missing; `null` is a value. */
export interface Difference {
  /** Dotted where it is inside another field: `gloss.gu60`, `names.de`. */
  readonly field: string;
  readonly before?: unknown;
  readonly after?: unknown;
}

/** Fields whose parts mean little alone; a comparison shows them as a whole. */
const WHOLE: ReadonlySet<string> = new Set(['colour', 'supplied']);

/**
 * The fields in which two definitions differ, by name, whatever the order of the fields. Lists are compared as a whole.
 * @example listDifferences({ name: 'Tarn', gloss: { gu60: 30 } }, { name: 'Tarn', gloss: { gu60: 35 } })
 *   // [{ field: 'gloss.gu60', before: 30, after: 35 }]
 */
export function listDifferences(before: object, after: object): Difference[] {
  return compare(before as Fields, after as Fields, '');
}

type Fields = Readonly<Record<string, unknown>>;

function compare(before: Fields, after: Fields, prefix: string): Difference[] {
  const keys = [...new Set([...Object.keys(before), ...Object.keys(after)])].sort();
  return keys.flatMap((key) => {
    const field = prefix + key;
    const [was, is] = [before[key], after[key]];
    if (canonical(was) === canonical(is)) return [];
    if (!WHOLE.has(field) && (isPlain(was) || isPlain(is)) && isOpenable(was) && isOpenable(is)) {
      return compare((was ?? {}) as Fields, (is ?? {}) as Fields, `${field}.`);
    }
    return [{ field, ...(was !== undefined && { before: was }), ...(is !== undefined && { after: is }) }];
  });
}

/** Null removes a value of the article, which differs from a missing field, so the comparison shows it as it is. */
const isOpenable = (value: unknown) => value === undefined || isPlain(value);
