// Long because it defines one format: everything stored about a model, with the format's number.
import type { CodeCounts } from '../finish/level-map.ts';

/** A map of a material: its texture and its UV set. */
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
  /** Names of nodes that use it, the first twenty. */
  readonly nodes: readonly string[];
  readonly maps: readonly SurveyedMap[];
  readonly alphaMode: 'OPAQUE' | 'MASK' | 'BLEND';
  readonly doubleSided: boolean;
  /** Whether an animation changes one of its properties. */
  readonly animated: boolean;
  /** How finishes are placed on its parts. */
  readonly lay: UvFrame;
  /**
   * Metres of surface per UV unit of its own map, after the texture transform: the mean of both directions, each the
   * median by area. Null if unknown; finishes then take one unit as a metre.
   */
  readonly metresPerUv: number | null;
  /** Its surface in the scene, m², counting instances. */
  readonly areaM2: number;
  /** Connected islands it covers. */
  readonly pieces: number;
  /** Factors from the file with defaults filled in; colour is linear RGBA. */
  readonly factors: {
    readonly baseColor: readonly [number, number, number, number];
    readonly metallic: number;
    readonly roughness: number;
  };
  /** The UVs of the part that finishes use; null if absent or unreadable. */
  readonly uv: UvFacts | null;
  /** Set if its colour map is a neutral detail map (see the repair of that name): pattern without hue, maximum 1. */
  readonly neutralDetail: NeutralDetail | null;
  /** The direction of finishes on its parts; null without UVs. */
  readonly grain: GrainFacts | null;
  /** Content of its normal map. Null without one, or if it is unreadable or covers too little. */
  readonly relief: ReliefFacts | null;
  /** Its pieces by UV density, largest area first, the first twenty groups. */
  readonly densities: readonly UvDensity[];
}

/** A neutral detail map, over the texels that the triangles of one material use. */
export interface NeutralDetail {
  /** Mean in linear light over these texels, above 0 and at most 1. A finish's colour is divided by it. */
  readonly mean: number;
  /** Share of each code over these texels; null if the map cannot be read. */
  readonly codes: CodeCounts | null;
}

/**
 * Content of a normal map over the texels that triangles use, in patches of about 12 mm. Slopes are root mean squares
 * over a patch, in degrees. “Most” means 98 % of the patches, since a seam covers little of a part.
 */
export interface ReliefFacts {
  /** Slope of the median patch, and the limit that most patches stay below. */
  readonly middleDegrees: number;
  readonly steepDegrees: number;
  /** Limit of the tilt of most patches as a whole. Folds and edges tilt patches; a weave does not. */
  readonly formDegrees: number;
  /** Repeats of the map over the part, in the direction with fewer repeats; null if unknown. */
  readonly repeats: number | null;
}

/**
 * How finishes are placed on the parts of a material: the UV set, its size on the surface, and the direction of the
 * part's own colour map, which finishes replace. The coordinates are the file's own, before any texture transform.
 */
export interface UvFrame {
  /** n of TEXCOORD_n: the UV set of the part's colour map, or else 0. */
  readonly texCoord: number;
  /**
   * Metres of surface in the scene per unit along U, and along V: medians by area. Never 0; negative if the colour
   * map's texture transform mirrors that direction.
   */
  readonly metresPerU: number;
  readonly metresPerV: number;
  /** Turn of the colour map by its texture transform, degrees counter-clockwise as seen on the map, 0 ≤ turn < 360. */
  readonly turnDegrees: number;
}

/** A turn of finishes on a part, and how well it fits the part. */
export interface GrainTurn {
  /** Degrees counter-clockwise as on a slot, 0 ≤ degrees < 180. Directions 180° apart are the same. */
  readonly degrees: number;
  /** 1 if the whole surface needs the same turn, 0 if all turns fit equally. */
  readonly agreement: number;
  /** Share of the surface that counts, 0–1. */
  readonly share: number;
}

export interface GrainFacts {
  /** The turn that lays the grain along the longer direction of each piece; null if no piece has one. */
  readonly along: GrainTurn | null;
  /** Ratio of length to breadth of the pieces that count, 1 or more. */
  readonly elongation: number;
  /** The turn that lays the warp front to back on lying surfaces, and down on standing ones. */
  readonly hanging: GrainTurn | null;
  /** Share of the surface within 45° of level, 0–1. */
  readonly lying: number;
  readonly mark: GrainMark | null;
}

/**
 * The piece that shows a direction best, in one view without perspective. Directions are sums of products xx, xy and
 * yy, right and up in the view, of steps in U and V. The steps are scaled separately, turned and mirrored as finishes
 * are. At g degrees the grain runs along U sin g + V cos g, so its products are `uu` sin² g + `uv` sin g cos g + `vv`
 * cos² g.
 */
export interface GrainMark {
  readonly view: 'front' | 'side' | 'back' | 'top';
  /** Bounds of the visible part: metres right and up in the view. */
  readonly min: readonly [number, number];
  readonly max: readonly [number, number];
  readonly uu: readonly [number, number, number];
  readonly uv: readonly [number, number, number];
  readonly vv: readonly [number, number, number];
}

/** Pieces of a material with about the same UV density, within two per cent, after U and V are scaled separately. */
export interface UvDensity {
  /** In the units of `SurveyedMaterial.metresPerUv`. */
  readonly metresPerUv: number;
  readonly areaM2: number;
  readonly count: number;
  /** Ids of the largest three, and names of nodes that use them. */
  readonly pieces: readonly string[];
  readonly nodes: readonly string[];
}

/** The UV layout of a part; shares are 0–1 and weighted by area. */
export interface UvFacts {
  /** Covered share of the unit square, for the part's own map. */
  readonly coverage: number;
  /** Share of the covered texels of the unit square that several triangles cover. */
  readonly overlap: number;
  /** Share of the UV area outside 0–1. */
  readonly outside: number;
  /** Their bounds before any texture transform; null if no triangle has readable UVs. */
  readonly bounds: UvBounds | null;
  /**
   * Mean axis ratio, longer to shorter, of a finish's circle on the surface, with U and V scaled separately; 1 is
   * undistorted.
   */
  readonly stretch: number;
  /** Sizes of a repeat; null if unknown. */
  readonly sizes: RepeatSizes | null;
  /** Texels of the largest map per millimetre of surface; null without a map. */
  readonly pxPerMm: number | null;
}

/**
 * A repeat that is larger or smaller than its true size by this factor is off: 330 or 270 mm instead of 300 mm is
 * visible. Common practice.
 */
export const SIZE_OFF = 1.1;

/** Size of a repeat over the surface, relative to its true size: 1 is true. */
export interface RepeatSizes {
  /** Five per cent of the surface are below `low`, and five per cent above `high`. */
  readonly low: number;
  readonly high: number;
  /** Share of the surface, 0–1, that is off by more than `SIZE_OFF`. */
  readonly off: number;
}

/** Smallest and largest u and v that triangles use. */
export interface UvBounds {
  readonly min: readonly [u: number, v: number];
  readonly max: readonly [u: number, v: number];
}

/** A connected island of triangles of one material, over welded positions, in the scene. */
export interface Piece {
  /**
   * Twelve hex digits from the island's shape and its place in the whole. A re-export of unchanged geometry gives the
   * same id, in any unit, order or node structure.
   */
  readonly piece: string;
  /** Equal for congruent islands in any place. */
  readonly shape: string;
  readonly material: number | null;
  readonly triangles: number;
  readonly areaM2: number;
  /** In metres, in the scene. */
  readonly box: { readonly min: readonly number[]; readonly max: readonly number[] };
  /** Primitives that contain its triangles. */
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
  /** Names of nodes that draw it, the first three. */
  readonly nodes: readonly string[];
  /**
   * The part it belongs to, named by the file: the node that draws it, else its mesh, else the nearest node above with
   * a meaningful name. Null if there is none.
   */
  readonly part: string | null;
  /** Mean colour under its UVs in the colour map, including the factor, as sRGB hex; null without a map or UVs. */
  readonly hex: string | null;
}

/** A piece whose fronts or normals face inward. Viewers leave it out or light it from the wrong side. */
export interface InwardPiece extends Pick<Piece, 'piece' | 'shape' | 'material' | 'nodes' | 'areaM2'> {
  /** What to turn: the order of corners, the normals, or both. */
  readonly turn: 'winding' | 'normals' | 'both';
  /** The evidence: its signed volume, the side visible from all round, or normals that point out of its back. */
  readonly by: 'volume' | 'view' | 'normals';
  /** False if it may be intentional, like the walls of a room. */
  readonly certain: boolean;
}

/** Some of the model's nodes: their number, and the first twenty. */
export interface NodeGroup {
  readonly count: number;
  readonly first: readonly { readonly node: number; readonly name: string }[];
}

/** One channel of an image, in its own encoding, 0–1. */
export interface ChannelFacts {
  readonly mean: number;
  readonly min: number;
  readonly max: number;
  /** Standard deviation. */
  readonly spread: number;
}

/** The content of an image, whatever its use. */
export interface ImageContent {
  /** Red, green, blue, and alpha if present; in grey images the three are equal. */
  readonly channels: readonly ChannelFacts[];
  /** Mean of red, green and blue in linear light, from sRGB. */
  readonly linearMean: readonly [number, number, number];
  /** All texels are within two codes of each other, apart from alpha, so a factor could replace the map. */
  readonly constant: boolean;
  /** Some texels are not opaque. */
  readonly hasAlpha: boolean;
  /** As a normal map: share of texels of about unit length, and share that points out of the surface. */
  readonly normal: { readonly unit: number; readonly outward: number };
  /** As a colour map: the mean colour (of linear light) as hex, and the mean ΔE*ab of texels from it. */
  readonly colour: { readonly hex: string; readonly deltaE: number };
}

/** Geometry that cannot be drawn or measured. */
export interface GeometryFault {
  readonly fault:
    | 'positions-not-finite'
    | 'index-out-of-range'
    | 'zero-area'
    | 'empty-primitive'
    | 'points-or-lines'
    | 'not-readable'
    | 'undecodable';
  /** Vertices, indices, triangles or primitives, depending on the fault. */
  readonly count: number;
  /** JSON pointer of the first. */
  readonly where: string;
}

/** Metres per unit of a mesh's own space, above 0. Both are equal unless nodes of several scales draw it. */
export interface MeshScale {
  readonly low: number;
  readonly high: number;
}

export interface SurveyedPrimitive {
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
  /** Number of nodes in the scene that draw it. */
  readonly uses: number;
  readonly triangles: number;
  readonly vertices: number;
  readonly uvSets: number;
  /** Whether it has the UVs that finishes use on its material (`UvFrame.texCoord`). */
  readonly hasUvs: boolean;
  readonly hasNormals: boolean;
  readonly hasTangents: boolean;
  /**
   * Smallest and largest scale of the nodes that draw it, in metres per unit of the mesh's own space. An uneven scale
   * counts as the cube root of its change in volume. Null if no node draws it, or if it is scaled to zero.
   */
  readonly scale: MeshScale | null;
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
  /** Null if it is not measured (KTX2, AVIF) or cannot be decoded. */
  readonly content: ImageContent | null;
  /** Why it could not be decoded; null when it could. */
  readonly undecodable: string | null;
  /** No viewer shows it. Deliveries and pictures leave it out. */
  readonly damaged: boolean;
  /**
   * A texture names it where viewers expect another format: KTX2 without `KHR_texture_basisu`, or another format under
   * that extension. Deliveries and pictures name it in the right place.
   */
  readonly misplaced: boolean;
  /** Estimated JPEG quality, 1–100, from its tables; null for other formats. */
  readonly jpegQuality: number | null;
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

/** Raised when surveys gain data. Stored surveys of an earlier format are then made again. */
export const SURVEY_FORMAT = 5;

/** The contents of a model, measured from its JSON and the bytes it refers to. */
export interface Survey {
  readonly format: typeof SURVEY_FORMAT;
  /** Why a stored model cannot be read any more; absent on all others. */
  readonly unreadable?: string;
  readonly generator: string | null;
  readonly bytes: number;
  /** Overall size in the scene, mm; null without positions. */
  readonly size: { readonly widthMm: number; readonly depthMm: number; readonly heightMm: number } | null;
  /** In metres. */
  readonly box: { readonly min: readonly number[]; readonly max: readonly number[] } | null;
  /** False if positions of a rotated part are compressed; the size is then an upper bound. */
  readonly sizeIsExact: boolean;
  readonly counts: {
    readonly nodes: number;
    readonly meshes: number;
    readonly primitives: number;
    /** Triangles in the scene, counting instances. */
    readonly triangles: number;
    readonly draws: number;
    readonly materials: number;
    readonly textures: number;
    readonly images: number;
    readonly animations: number;
    readonly cameras: number;
    readonly lights: number;
    /** Connected islands in the scene. */
    readonly pieces: number;
    readonly skins: number;
  };
  /**
   * Mesh nodes of the scene by the effect of their world transform, without transforms that only decode quantised
   * positions.
   */
  readonly transforms: {
    /** It turns or scales. */
    readonly unbaked: NodeGroup;
    readonly negative: NodeGroup;
    readonly uneven: NodeGroup;
  };
  /** Mesh nodes of the scene that show nothing, because they are scaled to zero or invisible. */
  readonly hidden: NodeGroup;
  /** Scenes that list a node with a parent. */
  readonly scenesWithChildren: readonly number[];
  /** Objects that the scene does not use, by kind, and the bytes that only they hold. */
  readonly unused: {
    readonly nodes: number;
    readonly meshes: number;
    readonly materials: number;
    readonly textures: number;
    readonly images: number;
    readonly accessors: number;
    readonly bufferViews: number;
    readonly bytes: number;
  };
  readonly faults: readonly GeometryFault[];
  /** The certain ones first, then by size; the first thousand. */
  readonly inward: readonly InwardPiece[];
  /** Estimated memory on the graphics card, bytes: buffers as they are, textures as RGBA with mip levels. */
  readonly gpu: { readonly geometry: number; readonly textures: number };
  readonly materials: readonly SurveyedMaterial[];
  /** How finishes are placed on parts without a material. */
  readonly bareLay: UvFrame;
  readonly primitives: readonly SurveyedPrimitive[];
  readonly images: readonly SurveyedImage[];
  /** Meshes drawn by more than one node. */
  readonly sharedMeshes: readonly { readonly mesh: number; readonly name: string; readonly nodes: number }[];
  /** Names of the variants in the received model. */
  readonly variants: readonly string[];
  readonly extensions: {
    readonly used: readonly string[];
    readonly required: readonly string[];
    readonly known: readonly string[];
    readonly unknown: readonly string[];
  };
  /** Bytes by cause. */
  readonly weight: {
    readonly json: number;
    readonly images: number;
    readonly geometry: number;
    /**
     * In more detail, heaviest first: attributes by name, indices, morph targets, animations, images by use, unused
     * data.
     */
    readonly causes: readonly { readonly cause: string; readonly bytes: number }[];
  };
  /** Invalid values of the file, the first thousand. All other figures use the replacement values. */
  readonly damages: readonly Damage[];
  /** Its result for the file as stored. */
  readonly validator: ValidatorResult;
}

/**
 * An invalid value of the file, found on reading. The stored model keeps it. Everything made from the model (survey,
 * repairs, deliveries, pictures) uses the replacement.
 */
export interface Damage {
  readonly code: DamageCode;
  /** The object that holds it, for a person: `material “Oak”`. */
  readonly place: string;
  /** The property, in words: `normal texture, scale`. */
  readonly what: string;
  /** JSON pointer into the stored model. */
  readonly where: string;
  /** The value found, and the value expected, in words. */
  readonly seen: string;
  readonly expected: string;
  /** The replacement, in words; null if the value is dropped, so that glTF's default applies. */
  readonly used: string | null;
}

export type DamageCode =
  | 'damaged-value'
  | 'dangling-reference'
  | 'damaged-animation'
  | 'no-scene'
  | 'undeclared-extension';

/** Most damages stored in a survey. A broken export can have one for every object. */
export const DAMAGE_LIMIT = 1000;
