/** How a form compresses geometry. */
export const GEOMETRY_FORMS = ['quantised', 'meshopt', 'draco'] as const;
export type GeometryForm = (typeof GEOMETRY_FORMS)[number];

/** How a form compresses textures. */
export const TEXTURE_FORMS = ['webp', 'ktx2'] as const;
export type TextureForm = (typeof TEXTURE_FORMS)[number];

/** A compressed form of a delivery: of its geometry, of its textures, or of both. */
export interface CompressedForm {
  readonly geometry: GeometryForm | null;
  readonly textures: TextureForm | null;
}

/** Names of all forms: `meshopt`, `webp`, `meshopt-webp` and so on. */
export const COMPRESSED_FORMS: readonly string[] = [
  ...GEOMETRY_FORMS,
  ...TEXTURE_FORMS,
  ...GEOMETRY_FORMS.flatMap((geometry) => TEXTURE_FORMS.map((textures) => `${geometry}-${textures}`)),
];

/** Reads the name of a form; null for any other text. */
export function readCompressedForm(name: string): CompressedForm | null {
  if (!COMPRESSED_FORMS.includes(name)) return null;
  const parts = name.split('-');
  return {
    geometry: GEOMETRY_FORMS.find((form) => parts.includes(form)) ?? null,
    textures: TEXTURE_FORMS.find((form) => parts.includes(form)) ?? null,
  };
}

/** What a form loses of the geometry, measured on the written file against the delivered one. */
export interface GeometryLoss {
  /** Largest distance between a vertex before and after, mm in the scene. */
  readonly positionMm: number;
  /** Largest angle between a normal before and after. */
  readonly normalDegrees: number;
  /** Largest distance of a texture coordinate, in images; of an image of 1024 px, 1/1024 is a texel. */
  readonly uv: number;
  /** Vertices that were measured. */
  readonly vertices: number;
  /** Meshes whose positions stay as they are. */
  readonly keptMeshes: number;
}

/** What a form loses of a texture: colour as ΔE00, all else in 8-bit codes. */
export interface TextureLoss {
  readonly image: number;
  readonly name: string;
  readonly use: 'colour' | 'normal' | 'data';
  readonly widthPx: number;
  readonly heightPx: number;
  readonly mimeType: string;
  readonly bytesBefore: number;
  readonly bytes: number;
  /** Peak signal-to-noise ratio over red, green and blue, dB; null if no code differs. */
  readonly psnrDb: number | null;
  /** Over an even grid of texels; null for what is not colour. */
  readonly deltaE: { readonly mean: number; readonly percentile95: number } | null;
  /** The largest angle of 95 % of the normals; null for what is no normal map. */
  readonly normalDegrees: number | null;
}

/** Why a part of a file stays as it is. */
export type KeptReason = 'unknown-extension' | 'not-smaller' | 'unreadable' | 'compressed' | 'too-large';

export interface FormLoss {
  readonly geometry: GeometryLoss | null;
  readonly textures: readonly TextureLoss[];
  /** Images that stay as they are, and geometry (`image: null`). */
  readonly kept: readonly { readonly image: number | null; readonly reason: KeptReason }[];
}
