import { count, formatBytes, formatNumber, formatSize, pick } from './format-text.ts';

interface Size {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

/** Code and name of a variant. */
interface Named {
  readonly code: string;
  readonly name: string;
}

interface Step {
  readonly was: string;
  readonly is: string;
}

const inVariants = (variants: number) => `in ${count(variants, 'variant')}`;
const label = ({ code, name }: Named) => `“${name}” (${code})`;
const finishOf = (name: string | null) => (name === null ? 'the model’s own material' : `“${name}”`);

/** Changes between two deliveries, a plain sentence or two each. Finishes and slots are given by name. */
export const DELIVERY_CHANGES = {
  model: (was: number, is: number | null, size: { was: Size; is: Size } | null, bytes: { was: number; is: number }) => {
    if (is === null) return 'The product has no model now.';
    return [
      was === is ? `The model is another revision ${is}.` : `The model is revision ${is}; it was revision ${was}.`,
      ...(size ? [`Its size is ${formatSize(size.is)}; it was ${formatSize(size.was)}.`] : []),
      ...(bytes.was === bytes.is ? [] : [`Its file has ${formatBytes(bytes.is)}; it had ${formatBytes(bytes.was)}.`]),
    ].join(' ');
  },
  names: (is: 'name' | 'code') =>
    is === 'code'
      ? 'The file names its variants by code now. Shops that select variants by name must use the codes.'
      : 'The file names its variants by name now. Shops that select variants by code must use the names.',
  slotAdded: (slot: string) => `The slot “${slot}” is new.`,
  slotRemoved: (slot: string) => `The slot “${slot}” is gone.`,
  slot: (slot: string, what: readonly string[]) => `On “${slot}”, ${what.join(', and ')}.`,
  slotFixed: (fixed: boolean) => (fixed ? 'the finish is fixed now' : 'the finish is no longer fixed'),
  slotKeep: 'other maps of the part are kept',
  slotGrain: ({ was, is }: { was: number; is: number }) =>
    was === is ? 'the direction of some finishes is another one' : `the direction is ${is}°; it was ${was}°`,
  slotMaterial: ({ was, is }: Step) => `the material of the model is “${is}”; it was “${was}”`,

  added: (variant: Named) => `${label(variant)} is new.`,
  withdrawn: (variant: Named) => `${label(variant)} is withdrawn.`,
  renamed: ({ code, was, is }: Step & { code: string }, breaks: boolean) =>
    `“${was}” (${code}) is now named “${is}”.${breaks ? ' Shops that select variants by name must use the new name.' : ''}`,
  recoded: ({ was, is }: Step) => `The code ${was} is now written ${is}.`,
  gtin: (variant: Named, was: string | undefined, is: string | undefined) => {
    if (is === undefined) return `${label(variant)} has no GTIN any more; it had ${was}.`;
    return `${label(variant)} has the GTIN ${is}${was === undefined ? '' : `; it had ${was}`}.`;
  },
  /** @param variant null when there are several */
  choice: (slot: string, was: string | null, is: string | null, variants: number, variant: Named | null) =>
    `“${slot}” is ${finishOf(is)} ${variant ? `in ${label(variant)}` : inVariants(variants)}; it was ${finishOf(was)}.`,
  shopData: (finishes: readonly string[]) =>
    `The shop data state another price grade, status or translated name for ${finishes.length === 1 ? `“${finishes[0]}”` : `${formatNumber(finishes.length)} finishes`}.`,
  default: ({ was, is }: Step) => `The default variant is ${is}; it was ${was}.`,
  order: 'The variants have another order.',

  finishRenamed: ({ was, is }: Step, variants: number) =>
    `The finish “${was}” is now named “${is}”, ${inVariants(variants)}.`,
  recoloured: (finish: string, deltaE: number, variants: number) =>
    deltaE < 0.005
      ? `The colour of “${finish}” is specified in another way and delivered as before, ${inVariants(variants)}.`
      : `“${finish}” has another colour ${inVariants(variants)}: ΔE00 ${deltaE.toFixed(2)} from the earlier one.`,
  maps: (finish: string, maps: readonly string[], variants: number) =>
    `“${finish}” has ${pick(maps.length, 'another', 'other')} ${maps.join(', ')} ${pick(maps.length, 'map', 'maps')} ${inVariants(variants)}.`,
  repeat: (finish: string, variants: number) =>
    `The maps of “${finish}” have another repeat or direction ${inVariants(variants)}.`,
  gloss: (finish: string, values: readonly { field: string; was: number; is: number }[], variants: number) => {
    const figures = values.map(({ field, was, is }) => `${field} ${is.toFixed(2)}, was ${was.toFixed(2)}`).join('; ');
    return `“${finish}” has another gloss ${inVariants(variants)}: ${figures}.`;
  },
  surface: (finish: string, fields: readonly string[], variants: number) =>
    `“${finish}” has another surface ${inVariants(variants)}${fields.length > 0 ? `: ${fields.join(', ')}` : ''}.`,
  supplied: (finish: string, variants: number) =>
    `“${finish}” comes with another supplied material ${inVariants(variants)}.`,
  finishChanged: (finish: string, variants: number) =>
    `“${finish}” has changed ${inVariants(variants)}. Dyeworks has no record of its earlier state.`,

  weight: (was: number, is: number) => {
    const texts = [formatBytes(is), formatBytes(was)];
    if (texts[0] !== texts[1]) return `The file has ${texts[0]}; it had ${texts[1]}.`;
    return `The file is ${formatNumber(Math.abs(is - was))} bytes ${is > was ? 'larger' : 'smaller'}.`;
  },
  file: 'The file differs, although the product does not. Another version of Dyeworks wrote it.',

  /** What a list leaves out. */
  more: {
    'variant-added': (n: number) => `${count(n, 'more variant')} ${pick(n, 'is', 'are')} new.`,
    'variant-withdrawn': (n: number) => `${count(n, 'more variant')} ${pick(n, 'is', 'are')} withdrawn.`,
    'variant-renamed': (n: number) => `${count(n, 'more variant')} ${pick(n, 'has', 'have')} another name.`,
    'variant-gtin': (n: number) => `${count(n, 'more variant')} ${pick(n, 'has', 'have')} another GTIN.`,
    'variant-choices': (n: number) => `${count(n, 'more variant')} ${pick(n, 'has', 'have')} other finishes.`,
  },
} as const;

/** Properties of a surface, in words. */
export const SURFACE_WORDS: Readonly<Record<string, string>> = {
  roughness: 'roughness',
  clearcoat: 'clearcoat',
  clearcoatRoughness: 'roughness of the clearcoat',
  family: 'family',
  metalness: 'metalness',
  sheen: 'sheen',
  transmission: 'transparency',
  ior: 'index of refraction',
  volume: 'depth of colour',
  specular: 'reflection',
  anisotropy: 'brushing',
  iridescence: 'thin film',
  emissive: 'light of its own',
};

/** Maps of a finish, in words. */
export const MAP_WORDS: Readonly<Record<string, string>> = {
  colour: 'colour',
  normal: 'normal',
  roughness: 'roughness',
};
