import type { Mount } from '../picture/picture.ts';
import type { Survey } from '../product/survey.ts';

/** Every repair, and whether it changes the bytes of geometry; the others change only JSON or images. */
export const REPAIRS = {
  scale: { geometry: true },
  place: { geometry: false },
  'bake-transforms': { geometry: true },
  'merge-parts': { geometry: true },
  'separate-pieces': { geometry: true },
  'set-nonmetal': { geometry: false },
  'neutral-detail': { geometry: false },
  'fit-textures': { geometry: false },
  'strip-unused': { geometry: false },
  'rename-materials': { geometry: false },
  'fix-scene': { geometry: false },
  'unshare-mesh': { geometry: false },
  'box-uvs': { geometry: true },
  'turn-outward': { geometry: true },
  turn: { geometry: false },
} as const satisfies Record<string, { readonly geometry: boolean }>;

export type RepairName = keyof typeof REPAIRS;

/** A material by its name, or by its pointer (`/materials/3`) where the name is not unique. */
export type MaterialReference = string;

export const AXES = ['x', 'y', 'z'] as const;
export type Axis = (typeof AXES)[number];

export type TextureFormat = 'keep' | 'jpg' | 'png' | 'webp';

/** Pieces that become one slot. */
export interface PieceGroup {
  /** Name of the material they get, and so of the slot. */
  readonly name: string;
  readonly pieces: readonly string[];
  /**
   * Names of the parts of those pieces, where the group has all pieces of these parts: the first way to match the
   * pieces of a changed export.
   */
  readonly parts?: readonly string[];
  /** Shapes of those pieces: the way to match the pieces of a changed export. */
  readonly shapes?: readonly string[];
  /** Mean colour under the UVs of those pieces, sRGB hex: the last way to match their group. */
  readonly hex?: string;
}

interface Accepting {
  /** Accepts the losses; without it they refuse the repair. */
  readonly accept?: boolean;
}

/** One change to a model, with its settings. A list of materials or meshes that is left out means all that need it. */
export type Repair = Accepting &
  (
    | {
        readonly repair: 'scale';
        readonly factor?: number;
        /** Instead of a factor: the target height, mm. */
        readonly toHeightMm?: number;
        /** Unit that the factor converts from. */
        readonly unit?: string;
        /** Height that the factor was chosen for, mm: a later export in another unit is not scaled by it. */
        readonly seenHeightMm?: number;
      }
    | { readonly repair: 'place'; readonly mount?: Mount; readonly centred?: boolean }
    | { readonly repair: 'bake-transforms' }
    | { readonly repair: 'merge-parts' }
    | {
        readonly repair: 'separate-pieces';
        readonly material: MaterialReference;
        readonly groups: readonly PieceGroup[];
      }
    | { readonly repair: 'set-nonmetal'; readonly materials?: readonly MaterialReference[] }
    | { readonly repair: 'neutral-detail'; readonly materials?: readonly MaterialReference[] }
    | {
        readonly repair: 'fit-textures';
        /** Greatest length of the longest side, px; default 2048. */
        readonly sizePx?: number;
        /** Of maps that are not normal maps; default `keep`. */
        readonly format?: TextureFormat;
        /** 1–100, JPEG and WebP; default 90. */
        readonly quality?: number;
        /** Normal maps stay lossless unless this is true. */
        readonly lossyNormals?: boolean;
      }
    | { readonly repair: 'strip-unused' }
    | {
        readonly repair: 'rename-materials';
        readonly names: readonly { readonly from: MaterialReference; readonly to: string }[];
      }
    | { readonly repair: 'fix-scene' }
    | { readonly repair: 'unshare-mesh'; readonly meshes?: readonly string[] }
    | {
        readonly repair: 'box-uvs';
        /** Named materials get new UVs even where they have some; without names, all materials without usable UVs. */
        readonly materials?: readonly MaterialReference[];
        /** Metres of the scene per UV unit, 0.001–1000; default 1. */
        readonly metresPerUnit?: number;
      }
    | {
        readonly repair: 'turn-outward';
        /** Only their pieces; without materials and pieces, those of the whole model. */
        readonly materials?: readonly MaterialReference[];
        /** These pieces, even where it is not certain that they face inward; never together with materials. */
        readonly pieces?: readonly string[];
        /** Shapes of those pieces: the way to match the pieces of a changed export. */
        readonly shapes?: readonly string[];
      }
    | {
        readonly repair: 'turn';
        /** Axis of the scene, through its origin; y is up. */
        readonly axis: Axis;
        /** Counter-clockwise in the view from the positive end of the axis, −360 to 360. */
        readonly degrees: number;
      }
  );

export type RepairOf<N extends RepairName> = Extract<Repair, { readonly repair: N }>;

/** The outcome of one repair. */
export interface RepairReport {
  readonly repair: Repair;
  /** `unfit`: the repair does not fit this model, and changed nothing. */
  readonly outcome: 'done' | 'nothing-to-do' | 'unfit';
  /** What the repair did, or why it did nothing, in a sentence with numbers. */
  readonly message: string;
  /** The same figures, for programs. */
  readonly figures: Readonly<Record<string, number | string>>;
  readonly touchesGeometry: boolean;
  /** The losses or, before they are accepted, the expected losses. */
  readonly losses: readonly string[];
}

/** Size limits of one list of repairs; a longer list is a mistake, or comes from neither a person nor a proposal. */
export const REPAIR_LIMITS = {
  repairs: 500,
  /** Groups of one separation: nobody chooses finishes for a model with more slots than this. */
  groups: 100,
  /** Pieces or shapes of one group; as many as a survey lists. */
  pieces: 20_000,
  /** Materials or meshes that one repair names. */
  references: 10_000,
} as const;

type Size = NonNullable<Survey['size']>;

/**
 * The size of a model after the turn; null where the angle is not a multiple of 90°, since then only the vertices tell.
 */
export function turnSize(size: Size, { axis, degrees }: Pick<RepairOf<'turn'>, 'axis' | 'degrees'>): Size | null {
  if (degrees % 90 !== 0) return null;
  if (degrees % 180 === 0) return size;
  const { widthMm, depthMm, heightMm } = size;
  if (axis === 'x') return { widthMm, depthMm: heightMm, heightMm: depthMm };
  if (axis === 'y') return { widthMm: depthMm, depthMm: widthMm, heightMm };
  return { widthMm: heightMm, depthMm, heightMm: widthMm };
}

export const scaleSize = ({ widthMm, depthMm, heightMm }: Size, factor: number): Size => ({
  widthMm: widthMm * factor,
  depthMm: depthMm * factor,
  heightMm: heightMm * factor,
});
