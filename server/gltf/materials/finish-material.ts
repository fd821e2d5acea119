import { Document, Format, NodeIO, type Texture, TextureInfo } from '@gltf-transform/core';
import {
  EXTTextureWebP,
  KHRMaterialsClearcoat,
  KHRMaterialsIOR,
  KHRMaterialsSheen,
  KHRMaterialsTransmission,
  KHRTextureBasisu,
  KHRTextureTransform,
} from '@gltf-transform/extensions';
import { LAY_IN_METRES, layTile, turnOf } from '../../core/delivery/repeat-transform.ts';
import type { NormalTurn, TextureTransform } from '../../core/delivery/uv-map.ts';
import type { LevelledMap } from '../../core/finish/level-map.ts';
import { findMapFactor, type ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { sniffImage } from '../../core/picture/sniff-image.ts';
import type { MapFile, ReadMap } from '../../core/ports/models.ts';
import type { UvFrame } from '../../core/product/survey.ts';
import type { Remake } from '../../images/remake-map.ts';
import { digestImage } from '../document/image-bytes.ts';
import type { GltfJson } from '../document/json.ts';
import { addShading, SHADING_EXTENSIONS } from './add-shading.ts';
import type { BakedMap } from './combine-part-normals.ts';
import { MadeMaps } from './made-maps.ts';
import { tidy } from './round-to-digits.ts';
import { findMapTurn, findTangentFrame } from './tangent-frame.ts';

/** A material to be made: a finish, and how it is laid on the part. */
export interface KitItem {
  readonly name: string;
  readonly finish: ResolvedFinish;
  /** How the UVs lie on the part; null without usable UVs, where no map can be laid. */
  readonly lay: UvFrame | null;
  /** Direction on the part, degrees counter-clockwise, on top of the finish's own. */
  readonly grainDegrees: number;
  /** Maps of the finish that the part's own take the place of. */
  readonly without: ReadonlySet<'colour' | 'normal' | 'roughness'>;
  /** How the part's neutral detail map is laid, which takes the colour map's place; null without one. */
  readonly detail: LevelledMap | null;
  /** Maps of the part that cannot stay, since it lacks the UVs they are laid by. */
  readonly leftOff?: readonly string[];
  /** Whether every part it goes on has tangents. */
  readonly tangents: boolean;
  /** Tangent frame by the part's own normal map, where it takes the place of the finish's; see `tangent-frame.ts`. */
  readonly partFrame?: NormalTurn | null;
  /** UVs as they are give a tangent frame where nothing else does: on the studio's shapes. */
  readonly uvFrame?: true;
  /** Metres of the real thing per unit of the mesh's own space. */
  readonly metresPerMeshUnit: number;
  /** Map that shows the part's normals and the finish's, in the place of the finish's own. */
  readonly bakedNormals?: BakedMap;
}

/** A document that holds materials only, serialised: `json.materials[i]` is item `i`. */
export interface FinishKit {
  readonly json: GltfJson;
  readonly bin: Uint8Array;
}

/** How an uploaded map is written. A colour map has 8 bits per channel by then, and may be levelled. */
type Writing =
  | 'as it is'
  | 'colour'
  | { readonly contrast: number }
  | Exclude<Remake, 'alpha-under-white' | 'eight-bit'>;
type TakeTexture = (sha256: string, writing: Writing) => Promise<Texture>;

const EXTENSIONS = [
  ...SHADING_EXTENSIONS,
  EXTTextureWebP,
  KHRMaterialsClearcoat,
  KHRMaterialsIOR,
  KHRMaterialsSheen,
  KHRMaterialsTransmission,
  KHRTextureBasisu,
  KHRTextureTransform,
];
const CLAMP_TO_EDGE = TextureInfo.WrapMode.CLAMP_TO_EDGE!;
/** glTF's default index of refraction; the extension is written only where a finish differs. */
const DEFAULT_IOR = 1.5;

/** Makes the materials with the glTF library, so that every extension is written as its specification says. */
export async function makeFinishKit(
  items: readonly KitItem[],
  readMap: ReadMap,
  maps = new MadeMaps(),
): Promise<FinishKit> {
  const document = new Document();
  if (items.some(({ finish }) => finish.tile)) document.createBuffer();
  const textures = new Map<string, Promise<Texture>>();
  const takeTexture: TakeTexture = (sha256, writing) => {
    const key = JSON.stringify([sha256, writing]);
    let texture = textures.get(key);
    if (!texture) {
      texture = addTexture(document, sha256, writing, { readMap, maps });
      textures.set(key, texture);
    }
    return texture;
  };
  const baked = new Map<Uint8Array, Texture>();
  const takeBaked = ({ png }: BakedMap): Texture => {
    let texture = baked.get(png);
    if (!texture) {
      texture = document.createTexture(digestImage(png).slice(0, 12)).setMimeType('image/png');
      baked.set(png, texture.setImage(png as Uint8Array<ArrayBuffer>));
    }
    return texture;
  };
  for (const item of items) await addMaterial(document, item, takeTexture, takeBaked);
  const io = new NodeIO().registerExtensions(EXTENSIONS);
  const { json, resources } = await io.writeJSON(document, { format: Format.GLB });
  return { json: json as unknown as GltfJson, bin: Object.values(resources)[0] ?? new Uint8Array() };
}

/** The kit as a GLB of its own. */
export async function writeKitBinary(item: KitItem, readMap: ReadMap, maps = new MadeMaps()): Promise<Uint8Array> {
  const document = new Document();
  if (item.finish.tile) document.createBuffer();
  const { bakedNormals: _, ...alone } = item;
  await addMaterial(document, alone, (sha256, writing) => addTexture(document, sha256, writing, { readMap, maps }));
  return new NodeIO().registerExtensions(EXTENSIONS).writeBinary(document);
}

async function addMaterial(
  document: Document,
  item: KitItem,
  takeTexture: TakeTexture,
  takeBaked?: (map: BakedMap) => Texture,
): Promise<void> {
  const { name, finish, lay, grainDegrees, without } = item;
  const laysColour = lay && finish.tile && finish.maps.colour && !without.has('colour');
  const factor = laysColour ? findMapFactor(finish) : (item.detail?.factor ?? finish.baseColour);
  const material = document
    .createMaterial(name)
    .setBaseColorFactor([...factor.map(tidy), 1] as [number, number, number, number])
    .setMetallicFactor(finish.metalness)
    .setRoughnessFactor(tidy(finish.roughness));

  if (lay && finish.tile) {
    const laid = layTile(finish.tile, lay, grainDegrees);
    const layMap = (info: TextureInfo | null) => layTexture(document, info, lay.texCoord, laid);
    if (laysColour) {
      const contrast = finish.levelled?.contrast ?? null;
      material.setBaseColorTexture(await takeTexture(finish.maps.colour!, contrast === null ? 'colour' : { contrast }));
      layMap(material.getBaseColorTextureInfo());
    }
    if (item.bakedNormals && takeBaked) {
      material.setNormalTexture(takeBaked(item.bakedNormals));
      layTexture(document, material.getNormalTextureInfo(), lay.texCoord, item.bakedNormals.lay);
      // what lies beyond the edge is another part's, or nobody's
      if (!item.bakedNormals.repeats) holdEdge(material.getNormalTextureInfo()!);
    } else if (finish.maps.normal && !without.has('normal')) {
      material.setNormalTexture(await takeTexture(finish.maps.normal, findMapTurn(item) ?? 'as it is'));
      layMap(material.getNormalTextureInfo());
    }
    if (finish.maps.roughness && !without.has('roughness')) {
      material.setMetallicRoughnessTexture(
        await takeTexture(finish.maps.roughness, finish.metalness === 1 ? 'for-metal' : 'as it is'),
      );
      layMap(material.getMetallicRoughnessTextureInfo());
    }
  }
  if (finish.clearcoat > 0) {
    const clearcoat = document.createExtension(KHRMaterialsClearcoat).createClearcoat();
    clearcoat.setClearcoatFactor(tidy(finish.clearcoat)).setClearcoatRoughnessFactor(tidy(finish.clearcoatRoughness));
    material.setExtension(KHRMaterialsClearcoat.EXTENSION_NAME, clearcoat);
  }
  if (finish.sheen && Math.max(...finish.sheen.colour) > 0) {
    const sheen = document.createExtension(KHRMaterialsSheen).createSheen();
    sheen.setSheenColorFactor(finish.sheen.colour.map(tidy) as [number, number, number]);
    sheen.setSheenRoughnessFactor(tidy(finish.sheen.roughness));
    material.setExtension(KHRMaterialsSheen.EXTENSION_NAME, sheen);
  }
  if (finish.transmission > 0) {
    const transmission = document.createExtension(KHRMaterialsTransmission).createTransmission();
    material.setExtension(
      KHRMaterialsTransmission.EXTENSION_NAME,
      transmission.setTransmissionFactor(tidy(finish.transmission)),
    );
  }
  if (finish.ior !== DEFAULT_IOR && finish.metalness === 0) {
    const ior = document.createExtension(KHRMaterialsIOR).createIOR();
    material.setExtension(KHRMaterialsIOR.EXTENSION_NAME, ior.setIOR(tidy(finish.ior)));
  }
  addShading(document, material, finish, {
    metresPerMeshUnit: item.metresPerMeshUnit,
    degrees: turnOf(finish.tile, lay ?? LAY_IN_METRES, grainDegrees),
    frame: findTangentFrame(item),
  });
}

function layTexture(
  document: Document,
  info: TextureInfo | null,
  texCoord: number,
  { scale = [1, 1], rotation = 0, offset = [0, 0] }: TextureTransform,
): void {
  if (!info) return;
  info.setTexCoord(texCoord);
  if (rotation === 0 && scale.every((value) => value === 1) && offset.every((value) => value === 0)) return;
  const transform = document.createExtension(KHRTextureTransform).createTransform();
  transform.setScale([tidy(scale[0]), tidy(scale[1])]);
  if (rotation !== 0) transform.setRotation(tidy(rotation));
  if (offset.some((value) => value !== 0)) transform.setOffset([tidy(offset[0]), tidy(offset[1])]);
  info.setExtension(KHRTextureTransform.EXTENSION_NAME, transform);
}

function holdEdge(info: TextureInfo): void {
  info.setWrapS(CLAMP_TO_EDGE).setWrapT(CLAMP_TO_EDGE);
}

async function addTexture(
  document: Document,
  sha256: string,
  writing: Writing,
  { readMap, maps }: { readonly readMap: ReadMap; readonly maps: MadeMaps },
): Promise<Texture> {
  const isLevelled = typeof writing === 'object' && 'contrast' in writing;
  const file = isLevelled
    ? await readMap(sha256, writing.contrast)
    : await writeMap({ sha256, ...(await readMap(sha256)) }, writing, maps);
  if (file.mimeType === 'image/webp') document.createExtension(EXTTextureWebP).setRequired(true);
  if (file.mimeType === 'image/ktx2') document.createExtension(KHRTextureBasisu).setRequired(true);
  return document
    .createTexture(sha256.slice(0, 12))
    .setImage(file.bytes as Uint8Array<ArrayBuffer>)
    .setMimeType(file.mimeType);
}

/**
 * A map as it goes into the file. Most go in byte for byte. KTX2 is not decoded here and always does. Maps of normals and
 * roughness may have more than 8 bits per channel, a colour map may not (glTF 2.0 §3.9.2).
 */
async function writeMap(
  map: MapFile & { readonly sha256: string },
  writing: Exclude<Writing, { readonly contrast: number }>,
  maps: MadeMaps,
): Promise<MapFile> {
  if (writing === 'as it is' || map.mimeType === 'image/ktx2') return map;
  if (writing === 'colour' && !isDeepPng(map.bytes)) return map;
  const bytes = await maps.remake(map, writing === 'colour' ? 'eight-bit' : writing);
  return { bytes: bytes!, mimeType: 'image/png' };
}

/** Whether an image is a PNG of 16 bits per channel; its header says so at a fixed place (PNG, third edition, §11.2.1). */
function isDeepPng(bytes: Uint8Array): boolean {
  return sniffImage(bytes) === 'image/png' && bytes[24] === 16;
}
