import { type FileHandle, open } from 'node:fs/promises';
import type { NormalsApart } from '../../core/delivery/judge-normals.ts';
import { layTile } from '../../core/delivery/lay-tile.ts';
import { type NotCombined, planNormals } from '../../core/delivery/plan-normals.ts';
import { type TextureTransform, toUvMap, turnNormals, UNTURNED } from '../../core/delivery/uv-map.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { sniffImage } from '../../core/picture/sniff-image.ts';
import type { WriteRequest } from '../../core/ports/models.ts';
import { readNormalKeep } from '../../core/product/slot.ts';
import type { NormalBake, NormalLayer, Wrap } from '../combine-normals.ts';
import type { Container } from '../container.ts';
import { sizeImage } from '../images.ts';
import type { GltfJson, TextureInfoJson } from '../json.ts';
import { bestSource } from '../texture-uses.ts';
import type { MadeMaps } from './made-maps.ts';
import { readImageBytes } from './read-images.ts';
import { readTransform } from './read-transform.ts';
import type { FinishResult } from './to-kit-item.ts';

/** A map baked of a part's and a finish's normals; it lies in the part's UVs as they are. */
export interface BakedMap {
  readonly png: Uint8Array;
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
      const lay = layTile(tile!, result.metresPerUv ?? 1, slot.grainDegrees);
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
  if ((transform.texCoord ?? info.texCoord ?? 0) !== 0) return { why: 'other-uv-set' };

  const texture = json.textures![info.index]!;
  const image = bestSource(texture);
  const ownBytes = image === null ? null : await readImageBytes(file, { json, bin }, image);
  const own = ownBytes && measure(ownBytes);
  const partLay = toUvMap(readTransform(transform));
  const turn = turnNormals(partLay);
  if (!own || !turn) return { why: 'unreadable', map: 'part' };
  const { bytes } = await readMap(sha256);
  const finish = measure(bytes);
  const finishLay = toUvMap(lay);
  if (!finish) return { why: 'unreadable', map: 'finish' };

  const tangents = hasTangents(json, result.sourceMaterial!);
  const turned = turn.xx !== 1 || turn.yy !== 1;
  if (turned && tangents === 'some') return { why: 'tangents-differ' };
  const wrap = readWrap(json, texture.sampler);
  const size = planNormals(
    { ...own, lay: partLay, repeats: wrap.every((mode) => mode === 'repeat') },
    { ...finish, lay: finishLay, repeats: true },
    result.uvBounds,
  );
  if ('why' in size) return size;

  const base: NormalLayer = {
    image: ownBytes!,
    lay: partLay,
    // tangents of the part's own say how its normals are meant, however its map is laid
    turn: tangents === 'none' ? turn : UNTURNED,
    scale: typeof info.scale === 'number' ? info.scale : 1,
    wrap,
  };
  const detail: NormalLayer = { image: bytes, lay: finishLay, turn: turnNormals(finishLay)!, scale: 1, wrap: TILED };
  const bake: NormalBake = { base, detail, widthPx: size.widthPx, heightPx: size.heightPx };
  const baked = await made.combine(bake);
  if ('png' in baked) return { png: baked.png, repeats: size.repeats };
  return { why: 'unreadable', map: baked.unreadable === 'base' ? 'part' : 'finish' };
}

const TILED = ['repeat', 'repeat'] as const;

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
