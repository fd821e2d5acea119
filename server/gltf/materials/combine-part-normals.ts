import { type FileHandle, open } from 'node:fs/promises';
import type { NormalsApart } from '../../core/delivery/judge-normals.ts';
import { isWithinSquare, type NotCombined, planNormals } from '../../core/delivery/plan-normals.ts';
import { layTile } from '../../core/delivery/repeat-transform.ts';
import {
  type TextureTransform,
  toMetres,
  toUvMap,
  turnNormals,
  UNTURNED,
  type UvMap,
} from '../../core/delivery/uv-map.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { sniffImage } from '../../core/picture/sniff-image.ts';
import type { WriteRequest } from '../../core/ports/models.ts';
import { directionOf, readNormalKeep } from '../../core/product/slot.ts';
import type { UvBounds } from '../../core/product/survey.ts';
import type { NormalBake, NormalLayer, Wrap } from '../../images/combine-normals.ts';
import { sizeImage } from '../../images/size-image.ts';
import type { Container } from '../document/container.ts';
import { readImageBytes } from '../document/image-bytes.ts';
import type { GltfJson, TextureInfoJson } from '../document/json.ts';
import { readTransform, texCoordOf } from '../document/texture-transform.ts';
import { bestSource } from '../document/texture-uses.ts';
import type { MadeMaps } from './made-maps.ts';
import type { FinishResult } from './material-spec.ts';

/** A map baked of a part's and a finish's normals. */
export interface BakedMap {
  readonly png: Uint8Array;
  /** How it lies in the part's UVs: as they are, or where their own map lies when these are quantised. */
  readonly lay: TextureTransform;
  /** Whether it repeats one UV unit further on; else it holds its edge. */
  readonly repeats: boolean;
}

/** Whose normal map a result shows. */
export type LaidNormals = 'part' | 'finish' | BakedMap;

/** A result that is made of a finish. */
export interface Dressed {
  readonly result: FinishResult;
  readonly finish: ResolvedFinish;
}

/**
 * Finds whose normals each result shows, and bakes those that show both, each pair of maps once. Reads the source as it
 * stands, before anything of it is moved.
 * @returns in the order of the results, and those that were to be combined and are not
 */
export async function layNormals(
  dressed: readonly Dressed[],
  request: Pick<WriteRequest, 'sourcePath' | 'readMap'>,
  { json, bin }: Container,
  made: MadeMaps,
): Promise<{ readonly laid: readonly LaidNormals[]; readonly apart: readonly NormalsApart[] }> {
  const laid: LaidNormals[] = [];
  const apart: NormalsApart[] = [];
  const known = new Map<string, Promise<BakedMap | NotCombined>>();
  let file: FileHandle | null = null;
  try {
    for (const { result, finish } of dressed) {
      const { slot, sourceMaterial } = result;
      const info = json.materials?.[sourceMaterial ?? -1]?.normalTexture;
      const keep = readNormalKeep(slot.keep.normal);
      const own = Boolean(result.hasUv && finish.tile && finish.maps.normal);
      const both = info && own && (keep === 'both-or-part' || keep === 'both-or-finish');
      if (!both) {
        laid.push(info && keep !== 'finish' ? 'part' : 'finish');
        continue;
      }
      const { tile, maps } = finish;
      const lay = layTile(tile!, result.lay, directionOf(slot, finish.family));
      const key = JSON.stringify([sourceMaterial, maps.normal, lay]);
      let combined = known.get(key);
      if (!combined) {
        file ??= await open(request.sourcePath, 'r');
        combined = combine({ info, result, lay, sha256: maps.normal! }, request, { file, json, bin }, made);
        known.set(key, combined);
      }
      const baked = await combined;
      if ('png' in baked) {
        laid.push(baked);
        continue;
      }
      const kept = keep === 'both-or-part' ? 'part' : 'finish';
      laid.push(kept);
      apart.push({ slot, finish: finish.finish, kept, reason: baked });
    }
  } finally {
    await file?.close();
  }
  return { laid, apart };
}

interface Pair {
  readonly info: TextureInfoJson;
  readonly result: FinishResult;
  readonly lay: TextureTransform;
  /** The finish's normal map. */
  readonly sha256: string;
}

async function combine(
  { info, result, lay, sha256 }: Pair,
  { readMap }: Pick<WriteRequest, 'readMap'>,
  { file, json, bin }: Pick<Container, 'json' | 'bin'> & { readonly file: FileHandle },
  made: MadeMaps,
): Promise<BakedMap | NotCombined> {
  const transform = info.extensions?.KHR_texture_transform ?? {};
  const { texCoord } = result.lay;
  if (texCoordOf(info) !== texCoord) return { why: 'other-uv-set', texCoord };

  const texture = json.textures![info.index]!;
  const image = bestSource(texture);
  const ownBytes = image === null ? null : await readImageBytes(file, { json, bin }, image);
  const own = ownBytes && measure(ownBytes);
  const partTransform = readTransform(transform);
  const partLay = toUvMap(partTransform);
  const turn = turnNormals(toMetres(partLay, result.lay));
  if (!own || !turn) return { why: 'unreadable', map: 'part' };
  const { bytes } = await readMap(sha256);
  const finish = measure(bytes);
  const finishLay = toUvMap(lay);
  if (!finish) return { why: 'unreadable', map: 'finish' };

  const tangents = hasTangents(json, result.sourceMaterial!);
  const turned = turn.xx !== 1 || turn.yy !== 1;
  if (turned && tangents === 'some') return { why: 'tangents-differ' };
  const wrap = readWrap(json, texture.sampler);
  const repeats = wrap.every((mode) => mode === 'repeat');
  const planned = listFrames(partTransform, result.uvBounds).map((frame) => ({
    frame,
    size: planNormals(
      { ...own, lay: seenFrom(frame, partLay), repeats },
      { ...finish, lay: seenFrom(frame, finishLay), repeats: true },
      result.uvBounds && moveBounds(frame, result.uvBounds),
    ),
  }));
  const { frame, size } = planned.find(({ size }) => !('why' in size)) ?? planned[0]!;
  if ('why' in size) return size;

  const base: NormalLayer = {
    image: ownBytes!,
    lay: seenFrom(frame, partLay),
    // tangents of the part's own say how its normals are meant, however its map is laid
    turn: tangents === 'none' ? turn : UNTURNED,
    scale: typeof info.scale === 'number' ? info.scale : 1,
    wrap,
  };
  const detail: NormalLayer = {
    image: bytes,
    lay: seenFrom(frame, finishLay),
    turn: turnNormals(toMetres(finishLay, result.lay))!,
    scale: 1,
    wrap: TILED,
  };
  const bake: NormalBake = { base, detail, widthPx: size.widthPx, heightPx: size.heightPx };
  const baked = await made.combine(bake);
  if ('png' in baked) return { png: baked.png, lay: frame, repeats: size.repeats };
  return { why: 'unreadable', map: baked.unreadable === 'base' ? 'part' : 'finish' };
}

const TILED = ['repeat', 'repeat'] as const;

/** Coordinates that the new map covers from 0 to 1: scaled and shifted, and neither turned nor mirrored. */
type Frame = Required<Pick<TextureTransform, 'scale' | 'offset'>>;

const AS_THEY_ARE: Frame = { scale: [1, 1], offset: [0, 0] };

/**
 * The coordinates a map of both may be made for, the better first: the UVs as they are, and those of the part's own map, as
 * long as it is neither turned nor mirrored. Quantised UVs are such: by themselves they fill a corner or a multiple of the
 * square, and their map's transform says what they are.
 */
function listFrames(
  { scale = [1, 1], offset = [0, 0], rotation = 0 }: TextureTransform,
  bounds: UvBounds | null,
): Frame[] {
  if (rotation !== 0 || !(scale[0] > 0 && scale[1] > 0)) return [AS_THEY_ARE];
  const own: Frame = { scale, offset };
  return isWithinSquare(bounds && moveBounds(own, bounds)) ? [own, AS_THEY_ARE] : [AS_THEY_ARE, own];
}

/** A map in terms of the frame's coordinates. */
function seenFrom({ scale: [su, sv], offset: [ou, ov] }: Frame, { a, b, c, d, e, f }: UvMap): UvMap {
  const [au, bv, cu, dv] = [a / su, b / sv, c / su, d / sv];
  return { a: au, b: bv, c: cu, d: dv, e: e - au * ou - bv * ov, f: f - cu * ou - dv * ov };
}

function moveBounds({ scale: [su, sv], offset: [ou, ov] }: Frame, { min, max }: UvBounds): UvBounds {
  return { min: [min[0] * su + ou, min[1] * sv + ov], max: [max[0] * su + ou, max[1] * sv + ov] };
}

/** Size of an image whose texels can be read here; null for any other. */
function measure(bytes: Uint8Array): { readonly widthPx: number; readonly heightPx: number } | null {
  const type = sniffImage(bytes);
  return type === null || type === 'image/ktx2' ? null : sizeImage(bytes, type);
}

const CLAMP_TO_EDGE = 33071;
const MIRRORED_REPEAT = 33648;

function readWrap(json: GltfJson, sampler: number | undefined): readonly [Wrap, Wrap] {
  const { wrapS, wrapT } = json.samplers?.[sampler ?? -1] ?? {};
  const toWrap = (mode: number | undefined): Wrap =>
    mode === CLAMP_TO_EDGE ? 'clamp' : mode === MIRRORED_REPEAT ? 'mirror' : 'repeat';
  return [toWrap(wrapS), toWrap(wrapT)];
}

/** Whether the primitives of a material have tangents that count: without normals they do not (glTF 2.0 §3.7.2.1). */
function hasTangents(json: GltfJson, material: number): 'all' | 'some' | 'none' {
  const own = (json.meshes ?? []).flatMap(({ primitives }) => primitives).filter((one) => one.material === material);
  const having = own.filter(({ attributes }) => attributes.TANGENT !== undefined && attributes.NORMAL !== undefined);
  if (having.length === 0) return 'none';
  return having.length === own.length ? 'all' : 'some';
}
