import type { PlannedResult } from '../../core/delivery/mapping-plan.ts';
import type { NormalTurn, TextureTransform } from '../../core/delivery/repeat-transform.ts';
import type { LevelledMap } from '../../core/finish/level-map.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type { MapFile } from '../../core/ports/models.ts';
import type { NeutralDetail, UvFrame } from '../../core/product/survey.ts';
import type { GltfJson, TextureInfoJson } from '../document/json.ts';

export type PlannedFinish = Extract<PlannedResult, { kind: 'finish' }>;

/** A result of the plan whose material is made from a finish. */
export interface FinishResult {
  /** Index in the results of the plan. */
  readonly index: number;
  readonly planned: PlannedFinish;
  readonly finish: ResolvedFinish;
}

/** A normal map that shows the relief of a part and of a finish. */
export interface CombinedNormals {
  readonly png: Uint8Array;
  /** From the part's UVs to the map. Not the identity where the UVs are quantised. */
  readonly transform: TextureTransform;
  /** Whether the map repeats in the next UV unit. If not, it is clamped to its edge. */
  readonly repeats: boolean;
}

/** The normal map that a result shows: the part's, the finish's, or a map of both. */
export type ShownNormals = 'part' | 'finish' | CombinedNormals;

/** The properties that a part keeps in every finish. */
export interface PartOverrides {
  readonly doubleSided: boolean;
  /** The part is double-sided, but its finish has a volume, for which glTF defines no double sides. */
  readonly dropsDoubleSided: boolean;
  readonly normalTexture: TextureInfoJson | null;
  readonly occlusionTexture: TextureInfoJson | null;
  /** A neutral detail map that replaces a colour map, and the factor that brings it to the finish's colour. */
  readonly detail: {
    /** Index of the source material. Materials may share a map, but each covers its own part of it. */
    readonly material: number;
    readonly texture: TextureInfoJson;
    readonly map: NeutralDetail;
    readonly levelled: LevelledMap;
  } | null;
  /** A roughness map used as relative wear, and the factor that brings its mean to the finish's roughness. */
  readonly wear: { readonly texture: TextureInfoJson; readonly roughnessFactor: number } | null;
  readonly alpha: {
    readonly mode: 'MASK' | 'BLEND';
    readonly cutoff: number | undefined;
    readonly factor: number;
    /** The colour map whose alpha gives the part its shape. */
    readonly texture: TextureInfoJson | null;
  } | null;
  /** Maps the part should keep but cannot, since it lacks the UV set they use. */
  readonly unusableMaps: readonly string[];
}

/** The alpha of a part's colour map as a white PNG; null when opaque; `unchanged` when the map cannot be decoded (KTX2). */
export type AlphaMap = Uint8Array | 'unchanged' | null;

/** A part's detail map, re-encoded with another contrast, and the source texture it replaces. */
export interface LevelledDetailMap extends MapFile {
  readonly texture: number;
}

/** The properties that parts keep, for all results of a plan. */
export interface PlanOverrides {
  /** One for each finish result, in order. */
  readonly parts: readonly PartOverrides[];
  /** One for each finish result, in order. */
  readonly normals: readonly ShownNormals[];
  /** By source texture. */
  readonly alphaMaps: ReadonlyMap<number, AlphaMap>;
  /** By `keyDetailMap`. */
  readonly detailMaps: ReadonlyMap<string, LevelledDetailMap>;
}

/** All that determines one material made from a finish. */
export interface MaterialSpec {
  readonly name: string;
  readonly finish: ResolvedFinish;
  /** How the part's UVs measure its surface; null when they are missing, so that no map can be used. */
  readonly lay: UvFrame | null;
  /** Direction on the part in degrees, counter-clockwise, added to the finish's own. */
  readonly grainDegrees: number;
  /** Maps of the finish that the part's own maps replace. */
  readonly omittedMaps: ReadonlySet<'colour' | 'normal' | 'roughness'>;
  /** Factor and contrast of the part's neutral detail map, which replaces the colour map; null without one. */
  readonly detail: LevelledMap | null;
  /** See `PartOverrides`. */
  readonly unusableMaps: readonly string[];
  /** Whether every part with this material has tangents. */
  readonly hasTangents: boolean;
  /** Tangent frame of the part's own normal map, where the finish's map is omitted; see `tangent-frame.ts`. */
  readonly partFrame?: NormalTurn | null;
  /** The UVs give a tangent frame where nothing else does; true for the studio's shapes. */
  readonly hasUvFrame?: true;
  /** Real metres per unit of the mesh's own space. */
  readonly metresPerMeshUnit: number;
  /** Replaces the finish's own normal map. */
  readonly combinedNormals?: CombinedNormals;
}

/** A glTF document that holds materials only, with what they refer to. */
export interface MaterialDocument {
  readonly json: GltfJson;
  readonly bin: Uint8Array;
}

/** Whether a finish absorbs light over its thickness (`KHR_materials_volume`). */
export function hasVolume({ volume, transmission }: Pick<ResolvedFinish, 'volume' | 'transmission'>): boolean {
  return volume !== null && volume.thickness > 0 && transmission > 0;
}

/** Rounds to eight significant digits: more than an 8-bit or half-float pipeline resolves, and short, stable JSON. */
export function roundToDigits(value: number): number {
  return Number(value.toPrecision(8));
}
