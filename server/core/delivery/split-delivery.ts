import { foldCode } from '../codes.ts';
import { Problem } from '../problems.ts';
import { DELIVERY_PROBLEMS } from '../texts/problems/delivery.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';

export type SplitBy = 'article' | 'grade';

/** One of the files that a delivery is split into. */
export interface DeliveryPart {
  /** Names the file: letters, digits, `.`, `_` and `-`; no two of a split are equal ignoring case. */
  readonly key: string;
  /** Article or grade, by slot; null for finishes without one. */
  readonly groups: Readonly<Record<string, string | null>>;
  /** Codes, in the order of the schedule. */
  readonly variants: readonly string[];
}

interface SplitRequest {
  readonly by: SplitBy;
  /** Splits by this slot alone. */
  readonly slot?: string | undefined;
}

type Variants = readonly { readonly code: string; readonly choices: Readonly<Record<string, string>> }[];

/** In keys, for finishes without an article or grade. */
const NONE = 'none';
/** Most files of a split: more would be no lighter to handle than one file per variant. */
export const MOST_PARTS = 500;

/**
 * Splits the variants of a delivery by the articles or grades of their finishes. The rule: every slot in which the group varies
 * divides, so the variants of one file agree in the group of every such slot. A shop then loads the file of, say, wool and oak, and
 * switches colours in it. With `slot`, that slot alone divides.
 * @param groupOf article or grade of a finish, null without one
 * @throws Problem `nothing-to-split`, `unknown-slot-key`, `too-many-parts`
 */
export function splitDelivery(
  variants: Variants,
  { by, slot }: SplitRequest,
  groupOf: (finish: string) => string | null,
): DeliveryPart[] {
  const slots = [...new Set(variants.flatMap(({ choices }) => Object.keys(choices)))];
  if (slot !== undefined && !slots.includes(slot)) {
    throw new Problem('unknown-slot-key', {
      detail: PRODUCT_PROBLEMS['unknown-slot-key'].known(slot, slots),
      received: slot,
    });
  }
  const groupIn = (choices: Readonly<Record<string, string>>, of: string) => {
    const finish = choices[of];
    return finish === undefined ? null : groupOf(finish);
  };
  const varies = (of: string) => new Set(variants.map(({ choices }) => groupIn(choices, of))).size > 1;
  const dividing = (slot === undefined ? slots : [slot]).filter(varies);
  if (dividing.length === 0) {
    throw new Problem('nothing-to-split', { detail: DELIVERY_PROBLEMS['nothing-to-split'](by, slot) });
  }
  const parts = new Map<string, { groups: Record<string, string | null>; variants: string[] }>();
  for (const { code, choices } of variants) {
    const groups = Object.fromEntries(dividing.map((of) => [of, groupIn(choices, of)]));
    const id = JSON.stringify(groups);
    const part = parts.get(id) ?? { groups, variants: [] };
    part.variants.push(code);
    parts.set(id, part);
  }
  if (parts.size > MOST_PARTS) {
    throw new Problem('too-many-parts', {
      detail: DELIVERY_PROBLEMS['too-many-parts'](parts.size, MOST_PARTS),
      expected: MOST_PARTS,
      received: parts.size,
    });
  }
  const taken = new Set<string>();
  const prefix = slot === undefined ? by : `${by}-${slot}`;
  return [...parts.values()].map((part) => ({ key: takeKey(prefix, Object.values(part.groups), taken), ...part }));
}

/** The groups as a file name: `article-wool--oak`, with a number where another part has the same. */
function takeKey(prefix: string, groups: readonly (string | null)[], taken: Set<string>): string {
  const words = groups.map((group) => (group === null ? NONE : slug(group)));
  const base = `${prefix}-${words.join('--')}`.slice(0, 100);
  for (let n = 1; ; n++) {
    const key = n === 1 ? base : `${base}-${n}`;
    if (taken.has(foldCode(key))) continue;
    taken.add(foldCode(key));
    return key;
  }
}

/** Grades are free text, and may have no letter that a URL carries. */
function slug(text: string): string {
  const plain = text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/^[-.]+|[-.]+$/g, '');
  return plain === '' ? 'group' : plain;
}
