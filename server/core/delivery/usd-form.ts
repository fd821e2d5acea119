import type { Mount } from '../picture/picture.ts';

/** Longest side of a texture, px: phones show no larger one in a room. */
export const USD_TEXTURE_PX = 2048;

export const USDZ = 'model/vnd.usdz+zip';

/** What the preview surface of USD, or a still product in a room, cannot show. Texts: `server/core/texts/usd-losses.ts`. */
export const USD_LOSSES = [
  'pose',
  'sheen',
  'transmission',
  'volume',
  'anisotropy',
  'iridescence',
  'dispersion',
  'specular',
  'diffuse-transmission',
  'clearcoat-normal',
  'emissive-strength',
  'unlit',
  'vertex-colours',
  'unknown-shading',
  'unreadable-map',
  'reduced-map',
  'mixed-slots',
] as const;
export type UsdLossCode = (typeof USD_LOSSES)[number];

export interface UsdLoss {
  readonly code: UsdLossCode;
  /** Names of the materials that lose it; at most 20. Empty for a loss of the whole product. */
  readonly materials: readonly string[];
}

/** What a delivered file becomes in USD. */
export type UsdContent =
  /** One variant, by its index in the file. */
  | { readonly kind: 'variant'; readonly variant: number }
  /** All variants: a variant set for each slot, and one for the rows of the schedule. */
  | {
      readonly kind: 'product';
      readonly slots: readonly string[];
      readonly rows: readonly UsdRow[];
      readonly first: number;
    };

/** A row of the schedule, in the order of the variants of the file. */
export interface UsdRow {
  readonly code: string;
  /** Finish by slot; a slot without a choice keeps its own material. */
  readonly choices: Readonly<Record<string, string>>;
}

export interface UsdRequest {
  /** A delivered GLB. */
  readonly path: string;
  readonly targetPath: string;
  readonly content: UsdContent;
  /** Name of the product, for people. */
  readonly title: string;
  /** Where the product stands or hangs: its surface belongs at 0. */
  readonly mount: Mount;
}

export interface UsdWritten {
  readonly sha256: string;
  readonly bytes: number;
  readonly losses: readonly UsdLoss[];
  /** Lowest and highest corner, metres. */
  readonly box: { readonly min: readonly number[]; readonly max: readonly number[] };
  readonly triangles: number;
  readonly textures: number;
  /** For each variant set, its name in the file and the names of its variants by finish or row code; only of a product. */
  readonly sets: readonly UsdSet[];
}

export interface UsdSet {
  readonly set: string;
  /** The slot that it switches; null for the rows of the schedule. */
  readonly slot: string | null;
  readonly variants: Readonly<Record<string, string>>;
}
