import { type FileHandle, open } from 'node:fs/promises';
import { isWithinSquare, type NormalsApart, type NotCombined, planNormals } from '../../core/delivery/plan-normals.ts';
import {
  repeatTransform,
  type TextureTransform,
  toMetres,
  toUvMap,
  turnNormals,
  UNTURNED,
  type UvMap,
} from '../../core/delivery/repeat-transform.ts';
import { sniffImage } from '../../core/finish/map-image.ts';
import type { WriteRequest } from '../../core/ports/models.ts';
import { directionOf, readNormalKeep } from '../../core/product/slot.ts';
import type { UvBounds } from '../../core/product/survey.ts';
import type { NormalBake, NormalLayer, Wrap } from '../../images/combine-normals.ts';
import { readImageSize } from '../../images/read-header.ts';
import type { Container } from '../document/container.ts';
import type { GltfJson, TextureInfoJson } from '../document/json.ts';
import { bestSource, readTransform, texCoordOf } from '../document/read-material.ts';
import { readImageBytes } from '../document/stored-bytes.ts';
import type { MapMaker } from './derived-maps.ts';
import type { CombinedNormals, FinishResult, PlannedFinish, ShownNormals } from './material-spec.ts';

/**
 * Chooses the normal map of each result, and combines those that a slot wants combined, each pair of maps once. Must run
 * before the source's JSON is changed.
 * @returns `normals` in the order of the results; `notCombined` lists pairs that a slot wants combined but that cannot be
 */
export async function combineNormals(
  results: readonly FinishResult[],
  request: Pick<WriteRequest, 'sourcePath' | 'readMap'>,
  { json, bin }: Container,
  maps: MapMaker,
): Promise<{ readonly normals: readonly ShownNormals[]; readonly notCombined: readonly NormalsApart[] }> {
  const normals: ShownNormals[] = [];
  const notCombined: NormalsApart[] = [];
  const known = new Map<string, Promise<CombinedNormals | NotCombined>>();
  let file: FileHandle | null = null;
  try {
    for (const { planned, finish } of results) {
      const { slot, sourceMaterial } = planned;
      const info = json.materials?.[sourceMaterial ?? -1]?.normalTexture;
      const keep = readNormalKeep(slot.keep.normal);
      const hasOwn = Boolean(planned.hasUv && finish.tile && finish.maps.normal);
      const wantsBoth = info && hasOwn && (keep === 'both-or-part' || keep === 'both-or-finish');
      if (!wantsBoth) {
        normals.push(info && keep !== 'finish' ? 'part' : 'finish');
        continue;
      }
      const transform = repeatTransform(finish.tile!, planned.lay, directionOf(slot, finish.family));
      const key = JSON.stringify([sourceMaterial, finish.maps.normal, transform]);
      let combined = known.get(key);
      if (!combined) {
        file ??= await open(request.sourcePath, 'r');
        const pair = { info, planned, transform, sha256: finish.maps.normal! };
        combined = combinePair(pair, request, { file, json, bin }, maps);
        known.set(key, combined);
      }
      const both = await combined;
      if ('png' in both) {
        normals.push(both);
        continue;
      }
      const kept = keep === 'both-or-part' ? 'part' : 'finish';
      normals.push(kept);
      notCombined.push({ slot, finish: finish.finish, kept, reason: both });
    }
  } finally {
    await file?.close();
  }
  return { normals, notCombined };
}

interface Pair {
  readonly info: TextureInfoJson;
  readonly planned: PlannedFinish;
  /** From the part's UVs to the finish's map. */
  readonly transform: TextureTransform;
  /** The finish's normal map. */
  readonly sha256: string;
}

async function combinePair(
  { info, planned, transform, sha256 }: Pair,
  { readMap }: Pick<WriteRequest, 'readMap'>,
  { file, json, bin }: Pick<Container, 'json' | 'bin'> & { readonly file: FileHandle },
  maps: MapMaker,
): Promise<CombinedNormals | NotCombined> {
  const { texCoord } = planned.lay;
  if (texCoordOf(info) !== texCoord) return { why: 'other-uv-set', texCoord };

  const texture = json.textures![info.index]!;
  const image = bestSource(texture);
  const ownBytes = image === null ? null : await readImageBytes(file, { json, bin }, image);
  const own = ownBytes && measureImage(ownBytes);
  const partTransform = readTransform(info.extensions?.KHR_texture_transform ?? {});
  const partLay = toUvMap(partTransform);
  const turn = turnNormals(toMetres(partLay, planned.lay));
  if (!own || !turn) return { why: 'unreadable', map: 'part' };
  const { bytes } = await readMap(sha256);
  const finish = measureImage(bytes);
  const finishLay = toUvMap(transform);
  if (!finish) return { why: 'unreadable', map: 'finish' };

  const tangents = hasTangents(json, planned.sourceMaterial!);
  const turned = turn.xx !== 1 || turn.yy !== 1;
  if (turned && tangents === 'some') return { why: 'tangents-differ' };
  const wrap = readWrap(json, texture.sampler);
  const repeats = wrap.every((mode) => mode === 'repeat');
  const candidates = listFrames(partTransform, planned.uvBounds).map((frame) => ({
    frame,
    size: planNormals(
      { ...own, lay: inFrame(frame, partLay), repeats },
      { ...finish, lay: inFrame(frame, finishLay), repeats: true },
      planned.uvBounds && moveBounds(frame, planned.uvBounds),
    ),
  }));
  const { frame, size } = candidates.find(({ size }) => !('why' in size)) ?? candidates[0]!;
  if ('why' in size) return size;

  const base: NormalLayer = {
    image: ownBytes!,
    lay: inFrame(frame, partLay),
    // tangents of the part define its normals, whatever the transform of its map
    turn: tangents === 'none' ? turn : UNTURNED,
    scale: typeof info.scale === 'number' ? info.scale : 1,
    wrap,
  };
  const detail: NormalLayer = {
    image: bytes,
    lay: inFrame(frame, finishLay),
    turn: turnNormals(toMetres(finishLay, planned.lay))!,
    scale: 1,
    wrap: TILED,
  };
  const bake: NormalBake = { base, detail, widthPx: size.widthPx, heightPx: size.heightPx };
  const baked = await maps.combine(bake);
  if ('png' in baked) return { png: baked.png, transform: frame, repeats: size.repeats };
  return { why: 'unreadable', map: baked.unreadable === 'base' ? 'part' : 'finish' };
}

const TILED = ['repeat', 'repeat'] as const;

/** The coordinates that the new map covers from 0 to 1: the UVs scaled and shifted, neither turned nor mirrored. */
type Frame = Required<Pick<TextureTransform, 'scale' | 'offset'>>;

const IDENTITY: Frame = { scale: [1, 1], offset: [0, 0] };

/**
 * The coordinates that the new map may cover, the better first: the UVs themselves, or those of the part's own map if it is
 * neither turned nor mirrored. The second suit quantised UVs, which fill a corner or a multiple of the unit square until
 * their map's transform is applied.
 */
function listFrames(
  { scale = [1, 1], offset = [0, 0], rotation = 0 }: TextureTransform,
  bounds: UvBounds | null,
): Frame[] {
  if (rotation !== 0 || !(scale[0] > 0 && scale[1] > 0)) return [IDENTITY];
  const own: Frame = { scale, offset };
  return isWithinSquare(bounds && moveBounds(own, bounds)) ? [own, IDENTITY] : [IDENTITY, own];
}

/** Expresses a map in the coordinates of a frame. */
function inFrame({ scale: [su, sv], offset: [ou, ov] }: Frame, { a, b, c, d, e, f }: UvMap): UvMap {
  const [au, bv, cu, dv] = [a / su, b / sv, c / su, d / sv];
  return { a: au, b: bv, c: cu, d: dv, e: e - au * ou - bv * ov, f: f - cu * ou - dv * ov };
}

function moveBounds({ scale: [su, sv], offset: [ou, ov] }: Frame, { min, max }: UvBounds): UvBounds {
  return { min: [min[0] * su + ou, min[1] * sv + ov], max: [max[0] * su + ou, max[1] * sv + ov] };
}

/** Size of an image that can be decoded here; null for any other. */
function measureImage(bytes: Uint8Array): { readonly widthPx: number; readonly heightPx: number } | null {
  const type = sniffImage(bytes);
  return type === null || type === 'image/ktx2' ? null : readImageSize(bytes, type);
}

const CLAMP_TO_EDGE = 33071;
const MIRRORED_REPEAT = 33648;

function readWrap(json: GltfJson, sampler: number | undefined): readonly [Wrap, Wrap] {
  const { wrapS, wrapT } = json.samplers?.[sampler ?? -1] ?? {};
  const toWrap = (mode: number | undefined): Wrap =>
    mode === CLAMP_TO_EDGE ? 'clamp' : mode === MIRRORED_REPEAT ? 'mirror' : 'repeat';
  return [toWrap(wrapS), toWrap(wrapT)];
}

/** Whether the primitives of a material have tangents; glTF ignores tangents without normals (glTF 2.0 §3.7.2.1). */
function hasTangents(json: GltfJson, material: number): 'all' | 'some' | 'none' {
  const all = (json.meshes ?? []).flatMap(({ primitives }) => primitives).filter((one) => one.material === material);
  const having = all.filter(({ attributes }) => attributes.TANGENT !== undefined && attributes.NORMAL !== undefined);
  if (having.length === 0) return 'none';
  return having.length === all.length ? 'all' : 'some';
}
