import type { DiscontinueAnswer, WhereUsedAnswer } from '../../../../server/http/contracts/line.ts';
import { count } from '../../../format.ts';

/** Where a finish is used beside this range, in sentences. */
export function sayUses(uses: WhereUsedAnswer, line: string): string[] {
  const sentences: string[] = [];
  if (uses.schedules.length > 0) {
    const rows = uses.schedules.map(({ product, variants }) => `${product} (${count(variants, 'variant')})`);
    sentences.push(`In the schedules of ${join(rows)}.`);
  } else sentences.push('In no schedule.');
  if (uses.deliveries.length > 0) {
    const files = uses.deliveries.map(({ product, delivery }) => `${product} no. ${delivery}`);
    sentences.push(`In the deliveries ${join(files)}.`);
  }
  const here = uses.lines.find((use) => use.line === line);
  if (here && here.positions.length > 0) sentences.push(`Named by its code in the options of ${join(here.positions)}.`);
  for (const rule of here?.rules ?? []) sentences.push(`In the rule: ${rule}.`);
  if (here && here.replaces.length > 0) sentences.push(`Takes the place of ${join(here.replaces)}.`);
  const others = uses.lines.filter((use) => use.line !== line).map(({ name }) => name);
  if (others.length > 0) sentences.push(`Also in ${others.length === 1 ? 'the line' : 'the lines'} ${join(others)}.`);
  if (uses.companionOf.length > 0) {
    const leaders = uses.companionOf.map(
      ({ finish, article, positions }) => `${finish ?? article} (on ${join(positions)})`,
    );
    sentences.push(`Follows ${join(leaders)} as a companion.`);
  }
  return sentences;
}

export interface DiscontinueWords {
  /** What becomes of the range’s entry. */
  readonly lead: string;
  readonly products: readonly {
    readonly product: string;
    readonly reminted: readonly { readonly from: string; readonly to: string; readonly name: string }[];
    readonly withdrawn: readonly { readonly code: string; readonly detail: string }[];
    readonly after: string;
  }[];
  /** What has to be made again, each a sentence. */
  readonly due: readonly string[];
}

/** What discontinuing a finish would do, or has done. */
export function sayDiscontinue(answer: DiscontinueAnswer): DiscontinueWords {
  const { finish, replacedBy, preview, products, deliveriesDue, picturesDue } = answer;
  const verb = preview ? 'would be' : 'is';
  const instead = replacedBy === null ? 'nothing takes its place' : `${replacedBy} takes its place`;
  const untouched = products.length === 0 ? ' No schedule wears it.' : '';
  return {
    lead: `${finish} ${verb} discontinued, and ${instead}.${untouched}`,
    products: products.map(({ product, reminted, withdrawn, default: moved, variants }) => ({
      product,
      reminted,
      withdrawn,
      after: `${count(variants, 'variant')} ${preview ? 'would be' : 'are'} left; ${
        moved === null
          ? 'the default stays'
          : `the default ${preview ? 'moves' : 'has moved'} from ${moved.from} to ${moved.to}`
      }.`,
    })),
    due: [
      ...deliveriesDue.map(
        ({ product, delivery }) =>
          `A delivery of ${product} is due: its latest, no. ${delivery}, still holds what goes.`,
      ),
      ...picturesDue.map(
        ({ product, variants }) =>
          `${count(variants.length, 'variant')} of ${product} need pictures: ${join(variants)}.`,
      ),
    ],
  };
}

function join(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
