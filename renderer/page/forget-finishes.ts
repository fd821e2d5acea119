import { type CompressedTexture, type Material, Texture } from 'three';
import type { GLTFParser } from 'three/examples/jsm/loaders/GLTFLoader.js';
import type { Product } from './load-product.ts';
import { listTextures } from './prepare-material.ts';

/**
 * Bytes of maps of finishes worn before that a product keeps ready, decoded and on the GL side: some seven finishes of
 * three maps of 2048 px. A product may have hundreds of them, and each would stay for as long as the product does.
 */
const KEPT_BYTES = 768 * 1024 * 1024;

/** Who dresses a moving product may be fetching the next dressing while the last one is not put on yet. */
const KEPT_TURNS = 2;

interface Worn {
  turn: number;
  /** By index of the material, when it was worn last; what was worn last stands last. */
  readonly turns: Map<number, number>;
}

const worn = new WeakMap<Product, Worn>();

/** What the parser keeps beside what its types tell of. */
type Caches = GLTFParser & {
  readonly cache: { remove(key: string): void };
  readonly textureCache: Record<string, unknown>;
  readonly sourceCache: Record<number, unknown>;
};

/**
 * Notes which finishes a product is about to wear, and gives up the maps of those it has not worn for longest, as many as
 * are too much. They are read from the file again when they are worn again.
 */
export function forgetFinishes(product: Product, next: Iterable<number>): void {
  const state = worn.get(product) ?? { turn: 0, turns: new Map() };
  worn.set(product, state);
  const { turns } = state;
  state.turn++;
  for (const index of next) {
    turns.delete(index);
    turns.set(index, state.turn);
  }
  const materials = listMaterials(product);
  let bytes = measure([...turns.keys()].flatMap((index) => materials.get(index) ?? []));
  for (const [index, turn] of turns) {
    if (bytes <= KEPT_BYTES || turn > state.turn - KEPT_TURNS) return;
    turns.delete(index);
    forget(product, index, materials.get(index) ?? []);
    materials.delete(index);
    bytes = measure([...turns.keys()].flatMap((kept) => materials.get(kept) ?? []));
  }
}

/** Materials made so far by their index in the file, each in all forms that fit meshes; not those the file's parts wear. */
function listMaterials({ parser, ownMaterials }: Product): Map<number, Material[]> {
  const own = new Set(ownMaterials.values());
  const byIndex = new Map<number, Material[]>();
  // the loader notes nothing of its default material, and puts that nothing down for the copies it makes of it
  for (const [thing, noted] of parser.associations as Map<unknown, { materials?: number } | undefined>) {
    const index = noted?.materials;
    if (index === undefined || !(thing as Material).isMaterial || own.has(thing as Material)) continue;
    byIndex.set(index, [...(byIndex.get(index) ?? []), thing as Material]);
  }
  return byIndex;
}

function measure(materials: readonly Material[]): number {
  const sources = new Map<Texture['source'], Texture>();
  for (const texture of materials.flatMap(listTextures)) sources.set(texture.source, texture);
  return [...sources.values()].reduce((sum, texture) => sum + measureTexture(texture), 0);
}

function measureTexture(texture: Texture): number {
  if ((texture as CompressedTexture).isCompressedTexture) {
    return (texture as CompressedTexture).mipmaps!.reduce((sum, { data }) => sum + (data?.byteLength ?? 0), 0);
  }
  const { width = 0, height = 0 } = (texture.image ?? {}) as { width?: number; height?: number };
  // decoded, and on the GL side with its mipmaps
  return width * height * 4 * (1 + 4 / 3);
}

/** Gives up a material and those of its maps that nothing else uses, so that the parser makes them anew. */
function forget({ parser }: Product, index: number, materials: readonly Material[]): void {
  const { cache, textureCache, sourceCache, associations, json } = parser as unknown as Caches;
  cache.remove(`material:${index}`);
  for (const material of materials) {
    associations.delete(material);
    material.dispose();
  }
  const inUse = new Set<Texture['source']>();
  for (const thing of associations.keys()) {
    if ((thing as Material).isMaterial) for (const { source } of listTextures(thing as Material)) inUse.add(source);
  }
  const sources = new Set(materials.flatMap(listTextures).map(({ source }) => source));
  for (const source of sources) {
    if (inUse.has(source)) continue;
    // nor of copies it makes for other sets of UVs
    const known = ([...associations] as [unknown, { textures?: number } | undefined][]).flatMap(([thing, noted]) =>
      thing instanceof Texture && thing.source === source ? [{ texture: thing, at: noted?.textures ?? -1 }] : [],
    );
    const images = new Set(known.flatMap(({ at }) => listImages(json.textures?.[at])));
    // the parser makes copies for other coordinates, not all of which it tells of
    const copies = materials.flatMap(listTextures).filter((texture) => texture.source === source);
    for (const texture of new Set([...known.map(({ texture }) => texture), ...copies])) {
      associations.delete(texture);
      texture.dispose();
    }
    (source.data as { close?(): void } | null)?.close?.();
    for (const image of images) delete sourceCache[image];
    (json.textures ?? []).forEach((texture: TextureJson, at: number) => {
      if (listImages(texture).some((image) => images.has(image))) cache.remove(`texture:${at}`);
    });
    // by image and sampler; what else was in it is found in the other caches
    for (const key of Object.keys(textureCache)) delete textureCache[key];
  }
}

interface TextureJson {
  readonly source?: number;
  readonly extensions?: Readonly<Record<string, { readonly source?: number }>>;
}

/** Images a texture may be read from: its own, and those of other formats. */
function listImages(texture: TextureJson | undefined): readonly number[] {
  const { source, extensions = {} } = texture ?? {};
  return [source, ...Object.values(extensions).map((extension) => extension.source)].filter(
    (image): image is number => image !== undefined,
  );
}
