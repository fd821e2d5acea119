import type { DiscontinueAnswer, WhereUsedAnswer } from '../../../../server/http/contracts/line.ts';
import { lineTexts } from '../../../texts/line.ts';

/** Where a finish is used apart from the range of this line, in sentences. */
export function describeUses(uses: WhereUsedAnswer, line: string): string[] {
  const texts = lineTexts.uses;
  const here = uses.lines.find((use) => use.line === line);
  const otherLines = uses.lines.filter((use) => use.line !== line).map(({ name }) => name);
  const sentences = [
    uses.schedules.length > 0
      ? texts.schedules(uses.schedules.map(({ product, variants }) => [product, variants]))
      : texts.noSchedule,
    uses.deliveries.length > 0 && texts.deliveries(uses.deliveries.map(({ product, delivery }) => [product, delivery])),
    here && here.positions.length > 0 && texts.options(here.positions),
    ...(here?.rules ?? []).map((rule) => texts.rule(rule.replace(/\.$/, ''))),
    here && here.replaces.length > 0 && texts.replaces(here.replaces),
    otherLines.length > 0 && texts.otherLines(otherLines),
    uses.companionOf.length > 0 &&
      texts.companionOf(uses.companionOf.map(({ finish, article, positions }) => [finish ?? article ?? '', positions])),
  ];
  return sentences.filter((sentence) => typeof sentence === 'string');
}

export interface DiscontinueDescription {
  /** What happens to the finish itself. */
  readonly lead: string;
  readonly products: readonly {
    readonly product: string;
    readonly reminted: readonly { readonly from: string; readonly to: string; readonly name: string }[];
    readonly withdrawn: readonly { readonly code: string; readonly detail: string }[];
    readonly summary: string;
  }[];
  /** Deliveries and pictures to make again, each as a sentence. */
  readonly due: readonly string[];
}

/** The outcome of discontinuing a finish, or the preview of it. */
export function describeDiscontinue(answer: DiscontinueAnswer): DiscontinueDescription {
  const texts = lineTexts.discontinue;
  const { finish, replacedBy, preview, products, deliveriesDue, picturesDue } = answer;
  return {
    lead: texts.lead(finish, replacedBy, !preview, products.length > 0),
    products: products.map(({ product, reminted, withdrawn, default: moved, variants }) => ({
      product,
      reminted,
      withdrawn,
      summary: `${texts.remaining(variants)} ${
        moved === null ? texts.sameDefault : texts.movedDefault(moved.from, moved.to, !preview)
      }`,
    })),
    due: [
      ...deliveriesDue.map(({ product, delivery }) => texts.deliveryDue(product, delivery)),
      ...picturesDue.map(({ product, variants }) => texts.picturesDue(product, variants)),
    ],
  };
}
