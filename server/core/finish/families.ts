import type { Family, Surface } from './finish.ts';

type FamilyDefaults = Required<Pick<Surface, 'roughness' | 'metal' | 'clearcoat' | 'clearcoatRoughness' | 'ior'>> &
  Pick<Surface, 'transmission'> & {
    /** A cloth's sheen takes the finish's own colour, lightened; `share` is how much of it (0–1). */
    readonly sheen: { readonly share: number; readonly roughness: number } | null;
    /** What a reader should know about the default. */
    readonly note: string;
  };

const plain = { metal: false, clearcoat: 0, clearcoatRoughness: 0, ior: 1.5, sheen: null } as const;

/**
 * Defaults by family, where a finish or its article says nothing.
 * Judgement within common practice; indices of refraction from physicallybased.info v2.1 where a material is named.
 */
export const FAMILY_DEFAULTS: Readonly<Record<Family, FamilyDefaults>> = {
  paint: { ...plain, roughness: 0.4, note: 'satin emulsion or lacquer' },
  'powder-coat': { ...plain, roughness: 0.55, note: 'fine texture, satin' },
  anodised: { ...plain, roughness: 0.35, metal: true, note: 'the oxide layer is tinted metal' },
  plated: { ...plain, roughness: 0.12, metal: true, note: 'polished before plating' },
  'bare-metal': { ...plain, roughness: 0.32, metal: true, note: 'brushed, unlacquered' },
  wood: { ...plain, roughness: 0.55, note: 'oiled or matt lacquered; satin lacquer: clearcoat 0.5 to 1' },
  textile: { ...plain, roughness: 0.95, sheen: { share: 0.35, roughness: 0.5 }, note: 'woven cloth' },
  leather: { ...plain, roughness: 0.6, note: 'semi-aniline' },
  plastic: { ...plain, roughness: 0.4, note: 'moulded, satin' },
  glass: { ...plain, roughness: 0.03, ior: 1.52, transmission: 1, note: 'soda-lime; colour tints what passes' },
  stone: { ...plain, roughness: 0.45, note: 'honed' },
  ceramic: { ...plain, roughness: 0.5, clearcoat: 1, clearcoatRoughness: 0.06, note: 'glazed' },
  paper: { ...plain, roughness: 0.9, note: 'uncoated' },
};
