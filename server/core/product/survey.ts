// Long because it is one format: all that is stored of a model, in one place, with its number.
import type { CodeCounts } from '../finish/level-map.ts';

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
  /** How finishes are laid on its parts. */
  readonly lay: UvFrame;
  /**
   * Metres of surface for one unit of the coordinates its own map is laid by, its texture transform applied: the mean of
   * both directions, each the median by area. Null where it cannot be told; finishes then take one such unit as a metre.
   */
  readonly metresPerUv: number | null;
  /** Surface it covers in the scene, m², instances counted. */
  readonly areaM2: number;
  /** Connected islands it covers. */
  readonly pieces: number;
  /** Factors as the file has them, defaults filled in; colour is linear RGBA. */
  readonly factors: {
    readonly baseColor: readonly [number, number, number, number];
    readonly metallic: number;
    readonly roughness: number;
  };
  /** How the UVs lie on the part that finishes are laid by; null without any, or where they cannot be read. */
  readonly uv: UvFacts | null;
  /** Set when its colour map is a neutral detail map (see the repair of that name): pattern without hue, maximum 1. */
  readonly neutralDetail: NeutralDetail | null;
  /** How the direction of finishes comes to lie on its parts; null without UVs. */
  readonly grain: GrainFacts | null;
  /** What its normal map holds; null without one, and where it cannot be read or covers too little to tell. */
  readonly relief: ReliefFacts | null;
  /** Its pieces by the density of their UVs, the largest area first, the first twenty groups. */
  readonly densities: readonly UvDensity[];
}

/** A neutral detail map, as the triangles of one material show it. */
export interface NeutralDetail {
  /** Mean in linear light over the texels they cover, above 0 and at most 1: a finish's colour is divided by it. */
  readonly mean: number;
  /** How much of what they cover has each code; null where the map cannot be read. */
  readonly codes: CodeCounts | null;
}

/**
 * What a normal map holds, over the texels that triangles show, patch by patch of about 12 mm. Slopes are root mean squares
 * over a patch, in degrees; “most” are 98 % of the patches, since a seam takes little of a part.
 */
export interface ReliefFacts {
  /** Slope of the middle patch, and what most stay below. */
  readonly middleDegrees: number;
  readonly steepDegrees: number;
  /** Tilt of a patch as a whole that most stay below: folds and edges tilt patches, a weave does not. */
  readonly formDegrees: number;
  /** How often the map repeats over the part, in the direction with fewer repeats; null where that cannot be told. */
  readonly repeats: number | null;
}

/**
 * How finishes are laid on the parts of a material: by which UVs, how large these are on the surface, and what the part's
 * own colour map, which they take the place of, says of the direction. The coordinates are the file's own, before any texture transform.
 */
export interface UvFrame {
  /**
   * n of TEXCOORD_n: the set that the part's colour map is laid by, else 0.
   */
  readonly texCoord: number;
  /**
   * Metres of surface in the scene for one unit along U, and along V: medians by area. Never 0; negative where the colour
   * map's texture transform mirrors that direction.
   */
  readonly metresPerU: number;
  readonly metresPerV: number;
  /** What its texture transform turns the colour map by, degrees counter-clockwise as one looks at the map, 0 ≤ turn < 360. */
  readonly turnDegrees: number;
}

/** A turn of finishes on a part, and how far the part bears it out. */
export interface GrainTurn {
  /** Degrees counter-clockwise as a slot has them, 0 up to 180: a grain has no head. */
  readonly degrees: number;
  /** 1 where all of the surface asks for the same turn, 0 where it asks for every one alike. */
  readonly agreement: number;
  /** Share of the surface that has a say, 0–1. */
  readonly share: number;
}

export interface GrainFacts {
  /** What lays the grain along the longer direction of each piece; null where no piece has one. */
  readonly along: GrainTurn | null;
  /** How much longer than broad the pieces are that have a say in it, 1 or more. */
  readonly elongation: number;
  /** What lays the warp front to back on surfaces that lie, and down on those that stand. */
  readonly hanging: GrainTurn | null;
  /** Share of the surface within 45° of level, 0–1. */
  readonly lying: number;
  readonly mark: GrainMark | null;
}

/**
 * The piece that shows best how a direction lies, seen in one view without perspective. Directions are sums of their own
 * products, xx, xy and yy, right and up in the view, of steps in U and V, scaled apart, turned and
 * mirrored as finishes are laid: at g degrees the grain runs along U sin g + V cos g, so that its products are `uu` sin² g + `uv` sin g cos g + `vv` cos² g.
 */
export interface GrainMark {
  readonly view: 'front' | 'side' | 'back' | 'top';
  /** Of what is seen of it: metres right and up in the view. */
  readonly min: readonly [number, number];
  readonly max: readonly [number, number];
  readonly uu: readonly [number, number, number];
  readonly uv: readonly [number, number, number];
  readonly vv: readonly [number, number, number];
}

/** Pieces of a material whose UVs are about as dense, to two per cent, once U and V are scaled apart. */
export interface UvDensity {
  /** In units as `SurveyedMaterial.metresPerUv` has them. */
  readonly metresPerUv: number;
  readonly areaM2: number;
  readonly count: number;
  /** Ids of the largest three, and names of nodes that show them. */
  readonly pieces: readonly string[];
  readonly nodes: readonly string[];
}

/** How UVs lie on a part; shares are 0–1 and weighted by area. */
export interface UvFacts {
  /** Share of the unit square that is covered, as the part's own map is laid. */
  readonly coverage: number;
  /** Share of the covered texels of the unit square that more than one triangle covers. */
  readonly overlap: number;
  /** Share of the UV area that lies outside 0–1. */
  readonly outside: number;
  /** Their extent before any texture transform; null where no triangle has readable UVs. */
  readonly bounds: UvBounds | null;
  /**
   * Mean ratio of the longer to the shorter axis that a circle of a finish becomes on the surface, U and V scaled apart; 1
   * is undistorted.
   */
  readonly stretch: number;
  /** How large a repeat comes out; null where it cannot be told. */
  readonly sizes: RepeatSizes | null;
  /** Texels of the largest map per millimetre of surface; null without a map. */
  readonly pxPerMm: number | null;
}

/** A repeat this many times too large, or too small, is off: 300 mm that come out at 330 or 270 are seen. Common practice. */
export const SIZE_OFF = 1.1;

/** How large a repeat comes out over the surface, times its true size: 1 where it is true. */
export interface RepeatSizes {
  /** Five per cent of the surface have less, and five per cent more. */
  readonly low: number;
  readonly high: number;
  /** Share of the surface, 0–1, where it is off by more than `SIZE_OFF`. */
  readonly off: number;
}

/** Least and greatest u and v that triangles use. */
export interface UvBounds {
  readonly min: readonly [u: number, v: number];
  readonly max: readonly [u: number, v: number];
}

/** A connected island of triangles of one material, over welded positions, as it stands in the scene. */
export interface Piece {
  /**
   * Twelve hex digits made of what the island is and where it stands in the whole; the same in a re-export of unchanged
   * geometry, in whatever unit, order or node structure.
   */
  readonly piece: string;
  /** The same for congruent islands, wherever they stand. */
  readonly shape: string;
  readonly material: number | null;
  readonly triangles: number;
  readonly areaM2: number;
  /** In metres, in the scene. */
  readonly box: { readonly min: readonly number[]; readonly max: readonly number[] };
  /** Primitives its triangles are in. */
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
  /** Names of nodes that show it, the first three. */
  readonly nodes: readonly string[];
  /**
   * The part it belongs to, as the file names it: the node that draws it, else its mesh, else the nearest node above whose
   * name tells what it is. Null where none does.
   */
  readonly part: string | null;
  /** Mean colour under its UVs in the colour map, factor included, as sRGB hex; null without a map or UVs. */
  readonly hex: string | null;
}

/** A piece that viewers leave out or light from the wrong side, since its fronts or normals face inward. */
export interface InwardPiece extends Pick<Piece, 'piece' | 'shape' | 'material' | 'nodes' | 'areaM2'> {
  /** What has to be turned: the order of corners, the normals, or both. */
  readonly turn: 'winding' | 'normals' | 'both';
  /** What tells: its signed volume, the side that is seen from all round, or normals that look out of its back. */
  readonly by: 'volume' | 'view' | 'normals';
  /** False where it could be meant so, as the walls of a room are. */
  readonly certain: boolean;
}

/** Some of the model's nodes: how many, and the first twenty. */
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

/** The content of an image, however it is used. */
export interface ImageContent {
  /** Red, green, blue, and alpha where there is one; grey images have three alike. */
  readonly channels: readonly ChannelFacts[];
  /** Mean of red, green and blue in linear light, read as sRGB. */
  readonly linearMean: readonly [number, number, number];
  /** Every texel within two codes of every other, alpha apart: it could be a factor. */
  readonly constant: boolean;
  /** Any texel less than opaque. */
  readonly hasAlpha: boolean;
  /** Read as a normal map: share of texels of about unit length, and of those that point out of the surface. */
  readonly normal: { readonly unit: number; readonly outward: number };
  /** Read as a colour map: the mean colour (of linear light) as hex, and the mean ΔE*ab of texels from it. */
  readonly colour: { readonly hex: string; readonly deltaE: number };
}

/** Faults of geometry that cannot be drawn or measured. */
export interface GeometryFault {
  readonly fault:
    | 'positions-not-finite'
    | 'index-out-of-range'
    | 'zero-area'
    | 'empty-primitive'
    | 'points-or-lines'
    | 'not-readable'
    | 'undecodable';
  /** Vertices, indices, triangles or primitives, as the fault has it. */
  readonly count: number;
  /** JSON pointer of the first. */
  readonly where: string;
}

/** Metres per unit of a mesh's own space, above 0; both the same unless nodes of several scales draw it. */
export interface MeshScale {
  readonly low: number;
  readonly high: number;
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
  /** Whether it has the UVs that finishes are laid by on its material (`UvFrame.texCoord`). */
  readonly hasUvs: boolean;
  readonly hasNormals: boolean;
  readonly hasTangents: boolean;
  /**
   * Metres in the scene for one unit of the mesh's own space, least and greatest over the nodes that draw it; an uneven
   * scale counts by the cube root of what it makes of a volume. Null where no node draws it, or one to nothing.
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
  /** Null when it is not measured (KTX2, AVIF), or could not be decoded. */
  readonly content: ImageContent | null;
  /** Why it could not be decoded; null when it could. */
  readonly undecodable: string | null;
  /** No viewer shows it, so that deliveries and pictures are made without it. */
  readonly damaged: boolean;
  /**
   * A texture names it in a place where viewers expect another format: KTX2 without `KHR_texture_basisu`, or another format
   * under it. Deliveries and pictures name it where it belongs.
   */
  readonly misplaced: boolean;
  /** Quality the JPEG was written with, 1–100, estimated from its tables; null for other formats. */
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

/** Raised when a survey says more than before: stored ones of an earlier format are measured again. */
export const SURVEY_FORMAT = 5;

/** The contents of a model, measured from its JSON and the bytes it refers to. */
export interface Survey {
  readonly format: typeof SURVEY_FORMAT;
  /** Why a model that was stored before cannot be read any more; absent on all others. */
  readonly unreadable?: string;
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
    /** Connected islands in the scene. */
    readonly pieces: number;
    readonly skins: number;
  };
  /** Mesh nodes of the scene by what their world transform does; transforms that only decode quantised positions are left out. */
  readonly transforms: {
    /** It turns or scales. */
    readonly unbaked: NodeGroup;
    readonly negative: NodeGroup;
    readonly uneven: NodeGroup;
  };
  /** Mesh nodes of the scene that show nothing: scaled to nothing, or made invisible. */
  readonly hidden: NodeGroup;
  /** Scenes that list a node which has a parent. */
  readonly scenesWithChildren: readonly number[];
  /** Objects nothing in the scene refers to, by kind, and the bytes only they hold. */
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
  /** Certain ones first, then the largest; the first thousand. */
  readonly inward: readonly InwardPiece[];
  /** Estimated memory of a graphics card, bytes: buffers as they stand, textures as RGBA with mip levels. */
  readonly gpu: { readonly geometry: number; readonly textures: number };
  readonly materials: readonly SurveyedMaterial[];
  /** How finishes are placed on parts without a material. */
  readonly bareLay: UvFrame;
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
  readonly weight: {
    readonly json: number;
    readonly images: number;
    readonly geometry: number;
    /** Finer, heaviest first: attributes by name, indices, morph targets, animations, images by use, what nothing reads. */
    readonly causes: readonly { readonly cause: string; readonly bytes: number }[];
  };
  /** Values of the file that cannot be right, the first thousand; all else here is measured with what is used instead. */
  readonly damages: readonly Damage[];
  /** Its word on the file as it is stored. */
  readonly validator: ValidatorResult;
}

/**
 * A value of the file that cannot be right, found when it was read. The stored model keeps it; whatever is made of the model
 * (survey, repairs, deliveries, pictures) has what is used in its place.
 */
export interface Damage {
  readonly code: DamageCode;
  /** The object it is in, for a person: `material “Oak”`. */
  readonly place: string;
  /** Which of its properties, in words: `normal texture, scale`. */
  readonly what: string;
  /** JSON pointer into the stored model. */
  readonly where: string;
  /** What stands there, and what belongs there, in words. */
  readonly seen: string;
  readonly expected: string;
  /** What is used instead, in words; null where it is left out, so that glTF's default holds. */
  readonly used: string | null;
}

export type DamageCode =
  | 'damaged-value'
  | 'dangling-reference'
  | 'damaged-animation'
  | 'no-scene'
  | 'undeclared-extension';

/** Damages kept with a survey; a broken export can have one for every object. */
export const DAMAGE_LIMIT = 1000;
