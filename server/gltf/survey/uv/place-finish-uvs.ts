import { type TextureTransform, toUvMap } from '../../../core/delivery/repeat-transform.ts';
import type { FinishUvs } from '../../document/choose-finish-uvs.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import type { PlacedScene } from '../../geometry/place-scene.ts';
import { type MeasuredUvFrame, UvFrameMeasure, unmeasuredFrame } from './measure-uv-frame.ts';

/** UVs of a part, two numbers for each vertex. Both may be the same array. */
export interface PartUvs {
  /** On the part's own map: its texture transform is applied. */
  readonly onMap: Float32Array;
  /**
   * On a finish map at 0°: U and V scaled apart to one size, mirrored and turned. On average, one unit is as large as one
   * unit of `onMap`.
   */
  readonly onFinish: Float32Array;
}

export interface PlacedUvs {
  /** By material, and for parts without one (null). */
  readonly frames: ReadonlyMap<number | null, MeasuredUvFrame>;
  /** In the order of the scene's parts; null where a part has no such UVs, or they cannot be read. */
  readonly uvs: readonly (PartUvs | null)[];
}

/** Measures the UV frame of each material, and places the UVs of every part on a finish map. */
export function placeFinishUvs(
  model: LoadedModel,
  { parts, points }: PlacedScene,
  maps: ReadonlyMap<number | null, FinishUvs>,
): PlacedUvs {
  const raw = parts.map(({ mesh, primitive, material }) => {
    const accessor =
      model.json.meshes![mesh]!.primitives[primitive]!.attributes[`TEXCOORD_${maps.get(material)!.texCoord}`];
    return accessor === undefined ? null : readAccessor(model, accessor);
  });
  const frames = new Map([...maps].map(([material, map]) => [material, unmeasuredFrame(map)]));
  // parts are sorted by material, so one measure of a few hundred kilobytes serves all
  const measure = new UvFrameMeasure();
  for (let from = 0, to = 0; from < parts.length; from = to) {
    const { material } = parts[from]!;
    measure.clear();
    for (; to < parts.length && parts[to]!.material === material; to++) {
      const uvs = raw[to];
      if (uvs) measure.add(parts[to]!, points, uvs);
    }
    frames.set(material, measure.describe(maps.get(material)!));
  }
  const known = new Map<Float32Array, Map<number | null, PartUvs>>();
  return {
    frames,
    uvs: raw.map((uvs, index) => {
      if (!uvs) return null;
      const { material } = parts[index]!;
      const byMaterial = known.get(uvs) ?? new Map<number | null, PartUvs>();
      known.set(uvs, byMaterial);
      const own = byMaterial.get(material) ?? toPartUvs(uvs, maps.get(material)!, frames.get(material)!);
      byMaterial.set(material, own);
      return own;
    }),
  };
}

function toPartUvs(uvs: Float32Array, { transform }: FinishUvs, { frame, metresPerUv }: MeasuredUvFrame): PartUvs {
  const onMap = transformUvs(uvs, transform);
  const unit = metresPerUv ?? 1;
  const placed: TextureTransform = {
    scale: [frame.metresPerU / unit, frame.metresPerV / unit],
    rotation: (-frame.turnDegrees * Math.PI) / 180,
  };
  return { onMap, onFinish: isLike(placed, transform) ? onMap : transformUvs(uvs, placed) };
}

/** Coordinates after a transform; the same array where it changes nothing. */
function transformUvs(uvs: Float32Array, transform: TextureTransform): Float32Array {
  const { a, b, c, d, e, f } = toUvMap(transform);
  if (a === 1 && b === 0 && c === 0 && d === 1 && e === 0 && f === 0) return uvs;
  const moved = new Float32Array(uvs.length);
  for (let at = 0; at + 1 < uvs.length; at += 2) {
    const u = uvs[at]!;
    const v = uvs[at + 1]!;
    moved[at] = a * u + b * v + e;
    moved[at + 1] = c * u + d * v + f;
  }
  return moved;
}

/** Whether two transforms differ only in their offset, which changes neither size nor direction. */
function isLike(one: TextureTransform, other: TextureTransform): boolean {
  const [first, second] = [toUvMap(one), toUvMap(other)];
  const near = (a: number, b: number) => Math.abs(a - b) <= 1e-6 * Math.max(Math.abs(a), Math.abs(b), 1e-12);
  return (['a', 'b', 'c', 'd'] as const).every((entry) => near(first[entry], second[entry]));
}
