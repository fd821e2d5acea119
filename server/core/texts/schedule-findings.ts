import { count, formatNumber, listNames, pick } from './format-text.ts';

interface VariantSku {
  readonly variant: string;
  readonly sku: string;
}

/** Variants named in a message before it counts them. */
const NAMED = 5;

/** Messages of the findings on schedules, deliveries and picture sets, by code. `variants` are codes. */
export const SCHEDULE_FINDINGS = {
  'no-schedule': () => 'The product has no variants yet. Add rows to its schedule, or generate them from the options.',
  'slot-without-finish': ({ slot, variants }: { readonly slot: string; readonly variants: readonly string[] }) =>
    `“${slot}” has no finish in ${listVariants(variants)}. It keeps the material of the model there until you choose one.`,
  'finish-not-in-options': ({ finish, slot, variants }: FinishUse) =>
    `${finish} is not among the options of “${slot}”, but ${describeUse(variants)}. Choose another finish, or extend the options.`,
  'finish-discontinued': ({
    finish,
    slot,
    variants,
    replacedBy,
  }: FinishUse & { readonly replacedBy?: string | undefined }) =>
    `${finish} is discontinued, but ${describeUse(variants)} on “${slot}”.${describeReplacement(replacedBy)} Choose another finish. If this one is still sold, set its status to phase-out.`,
  'finish-phased-out': ({
    finish,
    slot,
    variants,
    replacedBy,
    lastOrder,
  }: FinishUse & {
    readonly replacedBy?: string | undefined;
    readonly lastOrder: string;
  }) =>
    `${finish} is being phased out and can be ordered until ${lastOrder}. ${capitaliseVariants(describeUse(variants))} on “${slot}”.${describeReplacement(replacedBy)}`,
  'rule-broken': ({
    from,
    fromSlot,
    to,
    toSlot,
    variants,
    rule,
  }: {
    readonly from: string;
    readonly fromSlot: string;
    readonly to: string;
    readonly toSlot: string;
    readonly variants: readonly string[];
    readonly rule: string;
  }) =>
    `${from} on “${fromSlot}” and ${to} on “${toSlot}” must not be combined, but ${listVariants(variants)} ${pick(variants.length, 'has', 'have')} both. The rule: ${rule}. Change one of the finishes, or the rule.`,
  'rule-broken:more': ({
    pairs,
    variants,
    rule,
  }: {
    readonly pairs: number;
    readonly variants: readonly string[];
    readonly rule: string;
  }) =>
    `${count(pairs, 'more pair')} of finishes ${pick(pairs, 'breaks', 'break')} the same rule, in ${listVariants(variants)}: ${rule}.`,
  'slot-not-in-model': ({ slot, material }: { readonly slot: string; readonly material: string }) =>
    `The current model has no material “${material}”. The choices for “${slot}” are kept and have no effect.`,
  'slot-is-fixed': ({ slot }: { readonly slot: string }) =>
    `“${slot}” is fixed. The choices for it are kept and have no effect.`,
  'name-contains-name': ({
    pairs,
    long,
    short,
  }: {
    readonly pairs: number;
    readonly long: string;
    readonly short: string;
  }) =>
    `${pairs === 1 ? `The name “${long}” contains the name “${short}”` : `${formatNumber(pairs)} names contain another name; for example, “${long}” contains “${short}”`}. A viewer that searches for part of a name may show the wrong variant.`,
  'same-choices': ({
    names,
    others,
  }: {
    readonly names: readonly string[];
    /** Further groups of variants that look the same. */
    readonly others: number;
  }) => {
    return `${listNames(names)} have the same finish in every slot, so they look the same.${
      others === 0 ? '' : ` ${count(others, 'more group')} of variants ${pick(others, 'does', 'do')} too.`
    } Change a finish, or remove the variants that are not needed.`;
  },
  'name-says-another-finish': ({
    variants,
    variant,
    name,
    says,
  }: {
    readonly variants: number;
    /** The first of them, its name, and the finish that the name mentions. */
    readonly variant: string;
    readonly name: string;
    readonly says: string;
  }) =>
    `${pick(variants, 'A variant is', `${variants} variants are`)} named after a finish that ${pick(variants, 'it does', 'they do')} not have: ${pick(variants, '', 'for example, ')}${variant} “${name}” does not have ${says}. Change the finish, or rename ${pick(variants, 'the variant', 'the variants')} by the template.`,
  'sku-unusable:field': ({ field }: { readonly field: string }) =>
    `The SKU template has the field “{${field}}”, but the product has no such slot that changes finish. Change the template of the product.`,
  'sku-unusable:empty': ({ variant }: VariantSku) =>
    `The SKU of ${variant} would be empty. Choose a finish in its slots, or change the SKU template of the product.`,
  'sku-unusable:start': ({ variant, sku }: VariantSku) =>
    `The SKU of ${variant} would be “${sku}”. A SKU begins with a letter or digit and does not end with a dot. Choose the missing finishes, or change the SKU template of the product.`,
  'sku-unusable:long': ({ variant, sku }: VariantSku) =>
    `The SKU of ${variant}, “${sku}”, has ${formatNumber(sku.length)} characters. Shops and labels take 64 at most. Shorten the SKU template of the product.`,
  'sku-unusable:name': ({ variant, sku }: VariantSku) =>
    `The SKU of ${variant} would be “${sku}”, which Windows reserves for a device, so no file can be named after it. Change the SKU template of the product.`,
  'sku-collides': ({ sku, first, second }: { readonly sku: string; readonly first: string; readonly second: string }) =>
    `${first} and ${second} would have the same SKU, “${sku}”. Add a slot in which they differ to the SKU template of the product, or remove one of them.`,
  'sku-taken': ({ variant, sku }: VariantSku) =>
    `The SKU “${sku}” of ${variant} was already sent out for another choice of finishes, and orders may still name it. Change the SKU template of the product.`,
  'sku-taken:meanwhile': () => 'Another delivery has sent out one of these SKUs in the meantime. Deliver again.',
  'renamed-since-delivery': ({
    variants,
    delivery,
    was,
    is,
  }: {
    readonly variants: number;
    readonly delivery: number;
    /** The name of the first of them then and now. */
    readonly was: string;
    readonly is: string;
  }) =>
    `${pick(variants, 'One variant has', `${formatNumber(variants)} variants have`)} been renamed since delivery ${delivery}${pick(variants, ':', '; for example,')} “${was}” is now “${is}”. Tell everyone who selects variants by name, or deliver codes instead.`,

  // picture sets
  'view-left-out': ({
    product,
    slot,
    views,
  }: {
    readonly product: string;
    readonly slot: string;
    /** Close-ups the product has. */
    readonly views: readonly string[];
  }) =>
    `${product} has no visible part “${slot}”, so the picture set has no close-up of it. ${
      views.length > 0 ? `It has close-ups of: ${views.join(', ')}.` : 'No part of it can be shown in a close-up.'
    }`,
  'variant-without-gtin': ({ variants, more }: { readonly variants: readonly string[]; readonly more: number }) =>
    `${variants.join(', ')}${more > 0 ? ` and ${more} more` : ''} ${pick(variants.length + more, 'has', 'have')} no GTIN, so the file name template names the files. Enter GTINs in the schedule to use GS1 names for all of them.`,
} as const;

interface FinishUse {
  /** Code of the finish. */
  readonly finish: string;
  /** Label of the slot. */
  readonly slot: string;
  readonly variants: readonly string[];
}

function describeUse(variants: readonly string[]): string {
  return `${listVariants(variants)} ${pick(variants.length, 'uses', 'use')} it`;
}

function capitaliseVariants(text: string): string {
  return text.replace(/^variant/, 'Variant');
}

function describeReplacement(replacedBy: string | undefined): string {
  return replacedBy === undefined ? '' : ` ${replacedBy} replaces it.`;
}

function listVariants(codes: readonly string[]): string {
  if (codes.length <= NAMED) return `${pick(codes.length, 'variant', 'variants')} ${codes.join(', ')}`;
  return `${formatNumber(codes.length)} variants (${codes.slice(0, NAMED).join(', ')} …)`;
}
