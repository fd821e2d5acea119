import { Document, Format, NodeIO, type Texture, type TextureInfo } from '@gltf-transform/core';
import {
  EXTTextureWebP,
  KHRMaterialsClearcoat,
  KHRMaterialsIOR,
  KHRMaterialsSheen,
  KHRMaterialsTransmission,
  KHRTextureBasisu,
  KHRTextureTransform,
} from '@gltf-transform/extensions';
import sharp from 'sharp';
import { reachDetail } from '../../core/delivery/reach-detail.ts';
import type { Tile } from '../../core/finish/finish.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type { MapFile } from '../../core/ports/models.ts';
import type { GltfJson } from '../json.ts';
import { addShading, SHADING_EXTENSIONS } from './add-shading.ts';
import { tidy } from './tidy.ts';

/** A material to be made: a finish, and how it is laid on the part. */
export interface KitItem {
  readonly name: string;
  readonly finish: ResolvedFinish;
  /** Metres of surface per UV unit; null without usable UVs, where no map can be laid. */
  readonly metresPerUv: number | null;
  /** Direction on the part, degrees counter-clockwise, on top of the finish's own. */
  readonly grainDegrees: number;
  /** Maps of the finish that the part's own take the place of. */
  readonly without: ReadonlySet<'colour' | 'normal' | 'roughness'>;
  /** Linear mean of the part's neutral detail map, which takes the colour map's place; null without one. */
  readonly detailMean: number | null;
  /** Whether every part it goes on has tangents. */
  readonly tangents: boolean;
  /** Metres of the real thing per unit of the mesh's own space. */
  readonly metresPerMeshUnit: number;
}

/** A document that holds materials only, serialised: `json.materials[i]` is item `i`. */
export interface FinishKit {
  readonly json: GltfJson;
  readonly bin: Uint8Array;
}

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
/** glTF's default index of refraction; the extension is written only where a finish differs. */
const DEFAULT_IOR = 1.5;

/** Makes the materials with the glTF library, so that every extension is written as its specification says. */
export async function makeFinishKit(
  items: readonly KitItem[],
  readMap: (sha256: string) => Promise<MapFile>,
): Promise<FinishKit> {
  const document = new Document();
  if (items.some(({ finish }) => finish.tile)) document.createBuffer();
  const textures = new Map<string, Promise<Texture>>();
  const takeTexture = (sha256: string, forMetal: boolean): Promise<Texture> => {
    const key = forMetal ? `${sha256} metal` : sha256;
    let texture = textures.get(key);
    if (!texture) {
      texture = addTexture(document, sha256, forMetal, readMap);
      textures.set(key, texture);
    }
    return texture;
  };
  for (const item of items) await addMaterial(document, item, takeTexture);
  const io = new NodeIO().registerExtensions(EXTENSIONS);
  const { json, resources } = await io.writeJSON(document, { format: Format.GLB });
  return { json: json as unknown as GltfJson, bin: Object.values(resources)[0] ?? new Uint8Array() };
}

/** The kit as a GLB of its own. */
export async function writeKitBinary(
  item: KitItem,
  readMap: (sha256: string) => Promise<MapFile>,
): Promise<Uint8Array> {
  const document = new Document();
  if (item.finish.tile) document.createBuffer();
  await addMaterial(document, item, (sha256, forMetal) => addTexture(document, sha256, forMetal, readMap));
  return new NodeIO().registerExtensions(EXTENSIONS).writeBinary(document);
}

/**
 * Whether the finish's anisotropy can be written: its direction is stated in tangent space, which is given by tangents or
 * made from the coordinates of a normal map, the finish's or the part's own. glTF has no other, and a validator refuses it.
 */
export function hasTangentSpace(item: KitItem): boolean {
  const { finish, metresPerUv, without, tangents } = item;
  const laid = metresPerUv !== null && finish.tile !== null && finish.maps.normal !== undefined;
  return tangents || without.has('normal') || laid;
}

async function addMaterial(
  document: Document,
  item: KitItem,
  takeTexture: (sha256: string, forMetal: boolean) => Promise<Texture>,
): Promise<void> {
  const { name, finish, metresPerUv, grainDegrees, without, detailMean } = item;
  const factor = detailMean === null ? finish.baseColour : reachDetail(finish.baseColour, detailMean).factor;
  const material = document
    .createMaterial(name)
    .setBaseColorFactor([...factor.map(tidy), 1] as [number, number, number, number])
    .setMetallicFactor(finish.metalness)
    .setRoughnessFactor(tidy(finish.roughness));

  if (metresPerUv !== null && finish.tile) {
    const lay = (info: TextureInfo | null) => layTile(document, info, finish.tile!, metresPerUv, grainDegrees);
    if (finish.maps.colour && !without.has('colour')) {
      material.setBaseColorTexture(await takeTexture(finish.maps.colour, false));
      lay(material.getBaseColorTextureInfo());
    }
    if (finish.maps.normal && !without.has('normal')) {
      material.setNormalTexture(await takeTexture(finish.maps.normal, false));
      lay(material.getNormalTextureInfo());
    }
    if (finish.maps.roughness && !without.has('roughness')) {
      material.setMetallicRoughnessTexture(await takeTexture(finish.maps.roughness, finish.metalness === 1));
      lay(material.getMetallicRoughnessTextureInfo());
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
    degrees: hasTangentSpace(item) ? turnOf(finish.tile, grainDegrees) : null,
  });
}

/** Direction of a finish on a part, 0–360 degrees counter-clockwise, as far as its maps can follow it. */
function turnOf(tile: Tile | null, grainDegrees: number): number {
  const degrees = ((((tile?.grainDegrees ?? 0) + grainDegrees) % 360) + 360) % 360;
  return tile && tile.widthMm !== tile.heightMm ? (Math.round(degrees / 90) * 90) % 360 : degrees;
}

/**
 * Lays one repeat at its true size: `scale` is UV units × metres per unit ÷ metres per repeat.
 * The extension scales before it turns, so a repeat that is not square can be turned by quarters only, with its sides
 * exchanged; other angles of such a repeat go to the nearest quarter.
 */
function layTile(document: Document, info: TextureInfo | null, tile: Tile, metresPerUv: number, grain: number): void {
  if (!info) return;
  const square = tile.widthMm === tile.heightMm;
  const degrees = turnOf(tile, grain);
  const exchanged = !square && degrees % 180 === 90;
  const across = (metresPerUv * 1000) / (exchanged ? tile.heightMm : tile.widthMm);
  const along = (metresPerUv * 1000) / (exchanged ? tile.widthMm : tile.heightMm);
  if (degrees === 0 && across === 1 && along === 1) return;
  const transform = document.createExtension(KHRTextureTransform).createTransform();
  transform.setScale([tidy(across), tidy(along)]);
  // the extension turns the coordinates, so that the map itself is seen turned the other way
  if (degrees !== 0) transform.setRotation(tidy(((360 - degrees) * Math.PI) / 180));
  info.setExtension(KHRTextureTransform.EXTENSION_NAME, transform);
}

async function addTexture(
  document: Document,
  sha256: string,
  forMetal: boolean,
  readMap: (sha256: string) => Promise<MapFile>,
): Promise<Texture> {
  const map = await readMap(sha256);
  const file = forMetal ? await fillMetal(map) : map;
  if (file.mimeType === 'image/webp') document.createExtension(EXTTextureWebP).setRequired(true);
  if (file.mimeType === 'image/ktx2') document.createExtension(KHRTextureBasisu).setRequired(true);
  return document
    .createTexture(sha256.slice(0, 12))
    .setImage(file.bytes as Uint8Array<ArrayBuffer>)
    .setMimeType(file.mimeType);
}

/** glTF reads metalness from the blue channel of a roughness map; on a metal that channel must be full. */
async function fillMetal(map: MapFile): Promise<MapFile> {
  if (map.mimeType === 'image/ktx2') return map;
  const { data, info } = await sharp(map.bytes)
    .toColourspace('srgb')
    .removeAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  for (let i = 2; i < data.length; i += info.channels) data[i] = 255;
  const bytes = await sharp(data, { raw: info }).png({ compressionLevel: 9 }).toBuffer();
  return { bytes, mimeType: 'image/png' };
}
