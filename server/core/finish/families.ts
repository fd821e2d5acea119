import type { Family, Surface } from './finish.ts';

/** A family in words: `powder coat`. */
export const formatFamily = (family: Family): string => family.replaceAll('-', ' ');

type FamilyDefaults = Required<Pick<Surface, 'roughness' | 'metal' | 'clearcoat' | 'clearcoatRoughness' | 'ior'>> &
  Pick<Surface, 'transmission'> & {
    /** A cloth's sheen has the finish's own colour, lightened; `share` is how much of it (0–1). */
    readonly sheen: { readonly share: number; readonly roughness: number } | null;
    /** A note for readers about the default. */
    readonly note: string;
  };

const plain = { metal: false, clearcoat: 0, clearcoatRoughness: 0, ior: 1.5, sheen: null } as const;

/**
 * Defaults by family, for a finish whose article has no value either. Judgement within common practice. Refraction
 * indices come from physicallybased.info v2.1 where a material is named.
 */
export const FAMILY_DEFAULTS: Readonly<Record<Family, FamilyDefaults>> = {
  paint: { ...plain, roughness: 0.4, note: 'satin emulsion or lacquer; polished lacquer: clearcoat 1 over it' },
  'powder-coat': {
    ...plain,
    roughness: 0.55,
    note: 'fine texture, satin; the texture is the article’s normal map, a repeat of 30 to 60 mm',
  },
  anodised: {
    ...plain,
    roughness: 0.35,
    metal: true,
    note: 'the oxide layer is tinted metal: the colour is the metal’s reflectance times the dye, so it may be dark',
  },
  plated: {
    ...plain,
    roughness: 0.12,
    metal: true,
    note: 'polished before plating; colour from the table of metals, satin: roughness 0.25 to 0.35',
  },
  'bare-metal': {
    ...plain,
    roughness: 0.32,
    metal: true,
    note: 'brushed, unlacquered; colour from the table of metals, brushing: anisotropy 0.5 to 0.8',
  },
  wood: {
    ...plain,
    roughness: 0.55,
    note: 'solid or veneer, oiled or matt lacquered; satin lacquer: clearcoat 0.5 to 1',
  },
  textile: {
    ...plain,
    roughness: 0.95,
    sheen: { share: 0.35, roughness: 0.5 },
    note: 'woven cloth; the sheen takes the cloth’s own colour, lightened',
  },
  leather: {
    ...plain,
    roughness: 0.6,
    note: 'semi-aniline; pigmented and finished: roughness 0.4 to 0.5, patent: clearcoat 1',
  },
  plastic: {
    ...plain,
    roughness: 0.4,
    note: 'moulded, satin; clear ones: transmission 1 with their index (acrylic 1.49, polycarbonate 1.585)',
  },
  glass: {
    ...plain,
    roughness: 0.03,
    ior: 1.52,
    transmission: 1,
    note: 'soda-lime; colour tints what passes, as in a thin sheet. A body that darkens with depth needs a volume at its true thickness, and then a white colour',
  },
  stone: { ...plain, roughness: 0.45, note: 'honed; polished: roughness 0.1 to 0.2' },
  ceramic: {
    ...plain,
    roughness: 0.5,
    clearcoat: 1,
    clearcoatRoughness: 0.06,
    note: 'glazed: the glaze is the clearcoat, the colour lies under it; bisque: clearcoat 0',
  },
  paper: { ...plain, roughness: 0.9, note: 'uncoated; coated stock: roughness 0.4 to 0.6' },
};
