/** A map as a material uses it: which texture, by which set of UVs. */
export interface SurveyedMap {
  /** Property path inside the material, e.g. `pbrMetallicRoughness.baseColorTexture`. */
  readonly use: string;
  readonly texture: number;
  readonly image: number | null;
  readonly texCoord: number;
}

export interface SurveyedMaterial {
  readonly index: number;
  readonly name: string;
  readonly primitives: number;
  readonly triangles: number;
  /** Names of nodes that show it, the first twenty. */
  readonly nodes: readonly string[];
  readonly maps: readonly SurveyedMap[];
  readonly alphaMode: 'OPAQUE' | 'MASK' | 'BLEND';
  readonly doubleSided: boolean;
  /** Whether an animation drives one of its properties. */
  readonly animated: boolean;
  /** Metres of surface per unit of UV in TEXCOORD_0, area-weighted; null where it cannot be told. */
  readonly metresPerUv: number | null;
}

export interface SurveyedPrimitive {
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
  /** How many nodes of the scene draw it. */
  readonly uses: number;
  readonly triangles: number;
  readonly vertices: number;
  readonly uvSets: number;
  readonly hasNormals: boolean;
  readonly hasTangents: boolean;
  readonly hasColours: boolean;
  readonly compression: 'none' | 'draco' | 'meshopt';
}

export interface SurveyedImage {
  readonly index: number;
  readonly name: string;
  readonly mimeType: string | null;
  readonly widthPx: number | null;
  readonly heightPx: number | null;
  readonly bytes: number;
  /** Material properties that use it, e.g. `materials/2/normalTexture`. */
  readonly usedBy: readonly string[];
}

export interface ValidatorMessage {
  readonly code: string;
  /** 0 error, 1 warning, 2 information, 3 hint. */
  readonly severity: 0 | 1 | 2 | 3;
  readonly message: string;
  readonly pointer: string;
}

export interface ValidatorResult {
  readonly version: string;
  readonly errors: number;
  readonly warnings: number;
  readonly infos: number;
  readonly hints: number;
  /** Worst first, the first hundred. */
  readonly messages: readonly ValidatorMessage[];
}

/** What a model contains, as far as its JSON and the bytes it refers to tell. */
export interface Survey {
  readonly generator: string | null;
  readonly bytes: number;
  /** Overall size in the scene, mm; null when nothing has positions. */
  readonly size: { readonly widthMm: number; readonly depthMm: number; readonly heightMm: number } | null;
  /** In metres. */
  readonly box: { readonly min: readonly number[]; readonly max: readonly number[] } | null;
  /** False when a rotated part's positions are compressed, so that the size is an upper bound. */
  readonly sizeIsExact: boolean;
  readonly counts: {
    readonly nodes: number;
    readonly meshes: number;
    readonly primitives: number;
    /** Triangles in the scene, instances counted. */
    readonly triangles: number;
    readonly draws: number;
    readonly materials: number;
    readonly textures: number;
    readonly images: number;
    readonly animations: number;
    readonly cameras: number;
    readonly lights: number;
  };
  readonly materials: readonly SurveyedMaterial[];
  readonly primitives: readonly SurveyedPrimitive[];
  readonly images: readonly SurveyedImage[];
  /** Meshes drawn by more than one node. */
  readonly sharedMeshes: readonly { readonly mesh: number; readonly name: string; readonly nodes: number }[];
  /** Names of the variants the model arrived with. */
  readonly variants: readonly string[];
  readonly extensions: {
    readonly used: readonly string[];
    readonly required: readonly string[];
    readonly known: readonly string[];
    readonly unknown: readonly string[];
  };
  /** Bytes by what causes them. */
  readonly weight: { readonly json: number; readonly images: number; readonly geometry: number };
  readonly validator: ValidatorResult;
}
