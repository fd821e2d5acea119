import { foldCode } from '../codes.ts';
import { Problem } from '../problems.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import { keyOf, leaveRoom, makeNamer } from '../schedule/name-rows.ts';
import { choiceOf, type Variant } from '../schedule/schedule.ts';
import { SLICE, type Sliced } from '../slices.ts';
import { DELIVERY_PROBLEMS } from '../texts/problems/delivery.ts';

/** Most characters of a SKU: shops and labels cut off longer ones, which is where they differ. */
export const SKU_LENGTH = 64;
export const SKU_TEMPLATE_LENGTH = 200;

/** What CSV, addresses and file systems carry unchanged; a SKU begins with a letter or figure, so that no sheet reads a formula. */
const SKU = /^[A-Za-z0-9][A-Za-z0-9._-]*$/;
const LITERAL = /^[A-Za-z0-9._-]*$/;
/** Device names that Windows reserves, with any ending. */
const DEVICE = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i;
/** Fields of a template besides the slots. */
const FIELDS: ReadonlySet<string> = new Set(['product', 'variant']);

/**
 * Checks the template of a product's SKUs, as far as that needs no schedule.
 * @param slots keys of its slots; empty without a model
 * @throws Problem `sku-template`
 */
export function readSkuTemplate(given: string, slots: readonly string[]): string {
  const template = given.trim();
  const refuse = (detail: string): never => {
    throw new Problem('sku-template', { detail, received: template.slice(0, 80), where: '/skuTemplate' });
  };
  const texts = DELIVERY_PROBLEMS['sku-template'];
  if (template === '') refuse(texts.empty);
  if (template.length > SKU_TEMPLATE_LENGTH) refuse(texts.tooLong(template.length, SKU_TEMPLATE_LENGTH));
  const parts = splitTemplate(template);
  for (const part of parts) {
    if (typeof part === 'string') {
      const odd = [...part].find((letter) => !LITERAL.test(letter));
      if (odd === '{' || odd === '}') refuse(texts.openBrace);
      if (odd !== undefined) refuse(texts.character(odd));
    } else if (slots.length > 0 && !FIELDS.has(part.field) && !slots.includes(part.field)) {
      refuse(texts.unknownField(part.field, [...FIELDS, ...slots]));
    }
  }
  if (parts.every((part) => typeof part === 'string')) refuse(texts.noField);
  return template;
}

type Part = string | { readonly field: string };

function splitTemplate(template: string): Part[] {
  return template
    .split(/(\{[a-z0-9-]+\})/)
    .filter((part) => part !== '')
    .map((part) => (/^\{[a-z0-9-]+\}$/.test(part) ? { field: part.slice(1, -1) } : part));
}

/** Which choice of the product a SKU was sent out for; null for one of another product. */
export interface SentSku {
  readonly sku: string;
  readonly choice: string | null;
}

export interface SkuPlan {
  /** By folded code of the variant; without those that have a fault. */
  readonly skus: ReadonlyMap<string, SentSku & { readonly choice: string }>;
  /** Each blocks a delivery. */
  readonly faults: readonly Finding[];
}

interface Assigning {
  /** Null: the product and the finishes of its slots, made unique with numbers where that is needed. */
  readonly template: string | null;
  readonly product: string;
  /** Keys of the slots that change finish, in order. */
  readonly slots: readonly string[];
  readonly variants: readonly Pick<Variant, 'code' | 'choices'>[];
  readonly sent: readonly SentSku[];
}

/** The SKUs that the template alone gives, in the order of the variants; unusable ones as well. */
export function* fillSkus({ template, product, slots, variants }: Omit<Assigning, 'sent'>): Sliced<string[]> {
  const parts = splitTemplate(template ?? ['product', ...slots].map((field) => `{${field}}`).join('-'));
  const skus: string[] = [];
  for (const { code, choices } of variants) {
    if (skus.length > 0 && skus.length % SLICE === 0) yield;
    const read = ({ field }: { readonly field: string }) =>
      field === 'product' ? product : field === 'variant' ? code : (choiceOf(choices, field) ?? '');
    const text = parts.map((part) => (typeof part === 'string' ? part : read(part))).join('');
    skus.push(template === null ? leaveRoom(text.replace(/-{2,}/g, '-').replace(/-+$/, ''), SKU_LENGTH) : text);
  }
  return skus;
}

/**
 * Gives each variant its SKU. A choice that was sent out keeps the SKU it had, whatever the template says now; no other choice gets
 * that one. Variants that differ in case only have the same SKU for a shop, so case does not count.
 */
export function* assignSkus(given: Assigning): Sliced<SkuPlan> {
  const { template, slots, variants, sent } = given;
  const known = new Map<string, string>();
  const owners = new Map<string, string | null>();
  for (const [at, { sku, choice }] of sent.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    owners.set(foldCode(sku), choice);
    if (choice !== null) known.set(choice, sku);
  }
  const wanted = yield* fillSkus(given);
  const number = makeNamer(
    sent.map(({ sku }) => sku),
    '-',
    SKU_LENGTH,
  );
  const skus = new Map<string, { sku: string; choice: string }>();
  const faults: Finding[] = [];
  const users = new Map<string, string>();
  const seen = new Map<string, number>();
  const add = (finding: Finding) => void (faults.length < MOST_FAULTS && faults.push(finding));
  for (const [at, { code, choices }] of variants.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    const key = keyOf(choices);
    const times = (seen.get(key) ?? 0) + 1;
    seen.set(key, times);
    // two variants of the same choices are two articles for a shop
    const choice = times === 1 ? key : `${key}#${times}`;
    const had = known.get(choice);
    const sku = had ?? (template === null ? number(wanted[at]!) : wanted[at]!);
    const where = `schedule/${code}`;
    const user = users.get(foldCode(sku));
    const fault = had === undefined ? findFault(sku) : null;
    const unknown = template === null ? undefined : splitTemplate(template).find((part) => isUnknown(part, slots));
    if (typeof unknown === 'object') {
      add(makeFinding('sku-unusable:field', { field: unknown.field }, { where: 'product' }));
      break;
    }
    if (fault) add(makeFinding(`sku-unusable:${fault}`, { variant: code, sku }, { where, seen: sku }));
    else if (user !== undefined) {
      add(makeFinding('sku-collides', { sku, first: user, second: code }, { where, seen: sku }));
    } else if (had === undefined && owners.has(foldCode(sku))) {
      add(makeFinding('sku-taken', { sku, variant: code }, { where, seen: sku }));
    } else skus.set(foldCode(code), { sku, choice });
    users.set(foldCode(sku), code);
  }
  return { skus, faults };
}

/** More are of no use in one answer. */
const MOST_FAULTS = 100;

function isUnknown(part: Part, slots: readonly string[]): boolean {
  return typeof part === 'object' && !FIELDS.has(part.field) && !slots.includes(part.field);
}

function findFault(sku: string): 'empty' | 'start' | 'long' | 'name' | null {
  if (sku === '') return 'empty';
  if (!SKU.test(sku) || sku.endsWith('.')) return 'start';
  if (sku.length > SKU_LENGTH) return 'long';
  return DEVICE.test(sku) ? 'name' : null;
}
