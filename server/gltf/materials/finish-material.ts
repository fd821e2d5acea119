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
import { repeatTransform, type TextureTransform, turnOf, UVS_IN_METRES } from '../../core/delivery/repeat-transform.ts';
import { sniffImage } from '../../core/finish/map-image.ts';
import { findMapFactor, type ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type { MapFile, ReadMap } from '../../core/ports/models.ts';
import type { Remake } from '../../images/remake-map.ts';
import type { GltfJson } from '../document/json.ts';
import { digestImage } from '../document/stored-bytes.ts';
import { addShading, SHADING_EXTENSIONS } from './add-shading.ts';
import { DerivedMaps, type MapMaker } from './derived-maps.ts';
import { type CombinedNormals, type MaterialDocument, type MaterialSpec, roundToDigits } from './material-spec.ts';
import { findMapTurn, findTangentFrame } from './tangent-frame.ts';

/** How an uploaded map is written: `colour` with at most 8 bits per channel, or re-encoded with another contrast. */
type Writing =
  | 'unchanged'
  | 'colour'
  | { readonly contrast: number }
  | Exclude<Remake, 'alpha-under-white' | 'eight-bit'>;
type GetTexture = (sha256: string, writing: Writing) => Promise<Texture>;

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
/** glTF's default index of refraction, which needs no extension. */
const DEFAULT_IOR = 1.5;

/** Makes materials, in order. The glTF library serialises them, so that every extension is written as specified. */
export async function makeFinishMaterials(
  specs: readonly MaterialSpec[],
  readMap: ReadMap,
  maps: MapMaker = new DerivedMaps(),
): Promise<MaterialDocument> {
  const document = new Document();
  if (specs.some(({ finish }) => finish.tile)) document.createBuffer();
  const textures = new Map<string, Promise<Texture>>();
  const getTexture: GetTexture = (sha256, writing) => {
    const key = JSON.stringify([sha256, writing]);
    let texture = textures.get(key);
    if (!texture) {
      texture = addTexture(document, sha256, writing, { readMap, maps });
      textures.set(key, texture);
    }
    return texture;
  };
  const combined = new Map<Uint8Array, Texture>();
  const getCombined = ({ png }: CombinedNormals): Texture => {
    let texture = combined.get(png);
    if (!texture) {
      texture = document.createTexture(digestImage(png).slice(0, 12)).setMimeType('image/png');
      combined.set(png, texture.setImage(png as Uint8Array<ArrayBuffer>));
    }
    return texture;
  };
  for (const spec of specs) await addMaterial(document, spec, getTexture, getCombined);
  const io = new NodeIO().registerExtensions(EXTENSIONS);
  const { json, resources } = await io.writeJSON(document, { format: Format.GLB });
  return { json: json as unknown as GltfJson, bin: Object.values(resources)[0] ?? new Uint8Array() };
}

/** Writes a GLB with the material of one finish, as material 0, for the studio's shapes: 1 UV unit is 1 m. */
export async function writeFinishMaterial(
  finish: ResolvedFinish,
  readMap: ReadMap,
  maps: MapMaker = new DerivedMaps(),
): Promise<Uint8Array> {
  const document = new Document();
  if (finish.tile) document.createBuffer();
  const spec: MaterialSpec = {
    name: finish.finish,
    finish,
    lay: UVS_IN_METRES,
    grainDegrees: 0,
    omittedMaps: new Set(),
    detail: null,
    unusableMaps: [],
    hasTangents: false,
    hasUvFrame: true,
    metresPerMeshUnit: 1,
  };
  await addMaterial(document, spec, (sha256, writing) => addTexture(document, sha256, writing, { readMap, maps }));
  return new NodeIO().registerExtensions(EXTENSIONS).writeBinary(document);
}

async function addMaterial(
  document: Document,
  spec: MaterialSpec,
  getTexture: GetTexture,
  getCombined?: (map: CombinedNormals) => Texture,
): Promise<void> {
  const { name, finish, lay, grainDegrees, omittedMaps } = spec;
  const hasColourMap = lay && finish.tile && finish.maps.colour && !omittedMaps.has('colour');
  const factor = hasColourMap ? findMapFactor(finish) : (spec.detail?.factor ?? finish.baseColour);
  const material = document
    .createMaterial(name)
    .setBaseColorFactor([...factor.map(roundToDigits), 1] as [number, number, number, number])
    .setMetallicFactor(finish.metalness)
    .setRoughnessFactor(roundToDigits(finish.roughness));

  if (lay && finish.tile) {
    const transform = repeatTransform(finish.tile, lay, grainDegrees);
    const applyTransform = (info: TextureInfo | null) => setTransform(document, info, lay.texCoord, transform);
    if (hasColourMap) {
      const contrast = finish.levelled?.contrast ?? null;
      material.setBaseColorTexture(await getTexture(finish.maps.colour!, contrast === null ? 'colour' : { contrast }));
      applyTransform(material.getBaseColorTextureInfo());
    }
    if (spec.combinedNormals && getCombined) {
      material.setNormalTexture(getCombined(spec.combinedNormals));
      setTransform(document, material.getNormalTextureInfo(), lay.texCoord, spec.combinedNormals.transform);
      // beyond the edge lie texels of another part, or none
      if (!spec.combinedNormals.repeats) clampToEdge(material.getNormalTextureInfo()!);
    } else if (finish.maps.normal && !omittedMaps.has('normal')) {
      material.setNormalTexture(await getTexture(finish.maps.normal, findMapTurn(spec) ?? 'unchanged'));
      applyTransform(material.getNormalTextureInfo());
    }
    if (finish.maps.roughness && !omittedMaps.has('roughness')) {
      material.setMetallicRoughnessTexture(
        await getTexture(finish.maps.roughness, finish.metalness === 1 ? 'for-metal' : 'unchanged'),
      );
      applyTransform(material.getMetallicRoughnessTextureInfo());
    }
  }
  if (finish.clearcoat > 0) {
    const clearcoat = document.createExtension(KHRMaterialsClearcoat).createClearcoat();
    clearcoat
      .setClearcoatFactor(roundToDigits(finish.clearcoat))
      .setClearcoatRoughnessFactor(roundToDigits(finish.clearcoatRoughness));
    material.setExtension(KHRMaterialsClearcoat.EXTENSION_NAME, clearcoat);
  }
  if (finish.sheen && Math.max(...finish.sheen.colour) > 0) {
    const sheen = document.createExtension(KHRMaterialsSheen).createSheen();
    sheen.setSheenColorFactor(finish.sheen.colour.map(roundToDigits) as [number, number, number]);
    sheen.setSheenRoughnessFactor(roundToDigits(finish.sheen.roughness));
    material.setExtension(KHRMaterialsSheen.EXTENSION_NAME, sheen);
  }
  if (finish.transmission > 0) {
    const transmission = document.createExtension(KHRMaterialsTransmission).createTransmission();
    material.setExtension(
      KHRMaterialsTransmission.EXTENSION_NAME,
      transmission.setTransmissionFactor(roundToDigits(finish.transmission)),
    );
  }
  if (finish.ior !== DEFAULT_IOR && finish.metalness === 0) {
    const ior = document.createExtension(KHRMaterialsIOR).createIOR();
    material.setExtension(KHRMaterialsIOR.EXTENSION_NAME, ior.setIOR(roundToDigits(finish.ior)));
  }
  addShading(document, material, finish, {
    metresPerMeshUnit: spec.metresPerMeshUnit,
    degrees: turnOf(finish.tile, lay ?? UVS_IN_METRES, grainDegrees),
    frame: findTangentFrame(spec),
  });
}

function setTransform(
  document: Document,
  info: TextureInfo | null,
  texCoord: number,
  { scale = [1, 1], rotation = 0, offset = [0, 0] }: TextureTransform,
): void {
  if (!info) return;
  info.setTexCoord(texCoord);
  if (rotation === 0 && scale.every((value) => value === 1) && offset.every((value) => value === 0)) return;
  const written = document.createExtension(KHRTextureTransform).createTransform();
  written.setScale([roundToDigits(scale[0]), roundToDigits(scale[1])]);
  if (rotation !== 0) written.setRotation(roundToDigits(rotation));
  if (offset.some((value) => value !== 0)) written.setOffset([roundToDigits(offset[0]), roundToDigits(offset[1])]);
  info.setExtension(KHRTextureTransform.EXTENSION_NAME, written);
}

function clampToEdge(info: TextureInfo): void {
  info.setWrapS(CLAMP_TO_EDGE).setWrapT(CLAMP_TO_EDGE);
}

async function addTexture(
  document: Document,
  sha256: string,
  writing: Writing,
  { readMap, maps }: { readonly readMap: ReadMap; readonly maps: MapMaker },
): Promise<Texture> {
  const hasContrast = typeof writing === 'object' && 'contrast' in writing;
  const file = hasContrast
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
 * Most maps are written byte for byte, and KTX2 always, since it is not decoded here. Maps of normals and roughness may have
 * more than 8 bits per channel, a colour map may not (glTF 2.0 §3.9.2).
 */
async function writeMap(
  map: MapFile & { readonly sha256: string },
  writing: Exclude<Writing, { readonly contrast: number }>,
  maps: MapMaker,
): Promise<MapFile> {
  if (writing === 'unchanged' || map.mimeType === 'image/ktx2') return map;
  if (writing === 'colour' && !isDeepPng(map.bytes)) return map;
  const bytes = await maps.remake(map, writing === 'colour' ? 'eight-bit' : writing);
  return { bytes: bytes!, mimeType: 'image/png' };
}

/** Whether an image is a PNG of 16 bits per channel, by byte 24 of its header (PNG, third edition, §11.2.1). */
function isDeepPng(bytes: Uint8Array): boolean {
  return sniffImage(bytes) === 'image/png' && bytes[24] === 16;
}
