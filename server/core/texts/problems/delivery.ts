import type { ProblemTexts } from '../../problems.ts';
import { formatNumber } from '../format-text.ts';

/** Texts about the files of a delivery. */
export const DELIVERY_PROBLEMS = {
  'unknown-variant': (product: string, delivery: number, code: string) =>
    `Delivery ${delivery} of ${product} has no variant “${code}”. Check the code against the manifest.`,
  'unknown-form': (product: string, delivery: number, form: string) =>
    `Delivery ${delivery} of ${product} has no file “${form}”. Its files are listed at the address of the delivery.`,
  'no-variants-asked':
    'The query “variants” is empty. Name one or more variants, with commas between them, or leave it out for all of them.',
  'nothing-to-split': (by: 'article' | 'grade', slot: string | undefined) => {
    const what = by === 'article' ? 'the same article' : 'the same price grade';
    return slot === undefined
      ? `In every slot, all variants use finishes of ${what}, so there is only one file. Split by something else, or not at all.`
      : `In the slot “${slot}”, all variants use finishes of ${what}, so there is only one file. Choose another slot, or do not split.`;
  },
  'too-many-parts': (parts: number, most: number) =>
    `The split would make ${formatNumber(parts)} files; the limit is ${formatNumber(most)}. Split by one slot, or use one file per variant.`,
  'sku-template': {
    empty: 'The SKU template is empty. Write one such as {product}-{seat}, or leave it out.',
    tooLong: (length: number, most: number) =>
      `The SKU template has ${length} characters; ${most} are allowed. Shorten it.`,
    openBrace:
      'The SKU template has a brace that does not enclose a field. Write fields as {product}, {variant} or {slot}, with the key of a slot.',
    character: (letter: string) =>
      `The SKU template contains “${letter}”, which tables, addresses or file names may not carry. Use letters A to Z, digits, dots, underscores and hyphens.`,
    unknownField: (field: string, known: readonly string[]) =>
      `The SKU template has the unknown field “{${field}}”. Use ${known.map((each) => `{${each}}`).join(', ')}.`,
    noField: 'The SKU template has no field, so all variants would have the same SKU. Add a field such as {variant}.',
  },
  'no-delivery': (product: string) =>
    `${product} has no current delivery: none was made, or all are withdrawn. Deliver it first.`,
  'delivery-withdrawn': (delivery: number, reason: string) =>
    `Delivery ${delivery} was withdrawn, so its files are not sent any more. The reason: “${reason}”. Use the current delivery instead.`,
  'already-withdrawn': (delivery: number, { at, reason }: { readonly at: string; readonly reason: string }) =>
    `Delivery ${delivery} was already withdrawn on ${at.slice(0, 10)}. The reason: “${reason}”. The first withdrawal counts, and nothing changed.`,
  'withdrawal-needs-reason':
    'A withdrawal needs a reason. Whoever uses the files sees it, and must know what to do. Add one.',
  'samples-unknown': (finish: string) =>
    `The definition of “${finish}” at the time of the delivery is not stored, so no sample can be made. Deliver again.`,
} as const satisfies ProblemTexts;
