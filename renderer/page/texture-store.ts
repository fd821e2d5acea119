import {
  ClampToEdgeWrapping,
  type CompressedTexture,
  LinearFilter,
  LinearMipmapLinearFilter,
  LinearMipmapNearestFilter,
  MirroredRepeatWrapping,
  NearestFilter,
  NearestMipmapLinearFilter,
  NearestMipmapNearestFilter,
  NoColorSpace,
  RepeatWrapping,
  SRGBColorSpace,
  type Texture,
  type Wrapping,
} from 'three';
import type { ImageDecoder } from './decoders.ts';
import {
  asIndex,
  asNumber,
  asNumbers,
  asObject,
  describeTexture,
  FileFault,
  type GltfDocument,
  getExtension,
  type Json,
  listSources,
} from './gltf-document.ts';

/** A borrowed texture. */
export interface Loan {
  readonly texture: Texture;
  /** Image it is read from. */
  readonly image: number;
  giveBack(): void;
}

/**
 * Owns the textures of one file. Equal uses share a texture. It counts the users, and disposes a texture with its last user,
 * and an image with its last texture.
 */
export interface TextureStore {
  /** Lends the texture for a use in a material; null if it cannot be shown, which is reported once. */
  lend(use: unknown, colour: boolean): Promise<Loan | null>;
  /** Bytes of images, decoded and on the GPU. */
  measure(images: ReadonlySet<number>): number;
  /** Textures that could not be shown, each with its reason. */
  readonly faults: ReadonlyMap<number, string>;
  dispose(): void;
}

const FILTERS: Readonly<Record<number, Texture['minFilter']>> = {
  9728: NearestFilter,
  9729: LinearFilter,
  9984: NearestMipmapNearestFilter,
  9985: LinearMipmapNearestFilter,
  9986: NearestMipmapLinearFilter,
  9987: LinearMipmapLinearFilter,
};

const WRAPPINGS: Readonly<Record<number, Wrapping>> = {
  33071: ClampToEdgeWrapping,
  33648: MirroredRepeatWrapping,
  10497: RepeatWrapping,
};

/** Sets of UVs that the shaders can read; textures on others cannot be shown. */
const UV_SETS = 4;

interface Picture {
  /** Never drawn itself. Its copies, which share its pixels, are drawn. */
  readonly base: Promise<Texture>;
  /** Copies of it, and callers that wait for it. */
  users: number;
}

interface Shared {
  readonly texture: Texture;
  users: number;
}

export function createTextureStore(document: GltfDocument, decoder: ImageDecoder): TextureStore {
  const pictures = new Map<number, Picture>();
  const sizes = new Map<number, number>();
  const shared = new Map<string, Shared>();
  const faults = new Map<number, string>();
  let isClosed = false;

  function hold(image: number, isKtx2: boolean): Promise<Texture> {
    let picture = pictures.get(image);
    if (!picture) {
      picture = { base: document.readImage(image).then((bytes) => decoder.decode(bytes, isKtx2)), users: 0 };
      pictures.set(image, picture);
    }
    picture.users++;
    return picture.base;
  }

  function release(image: number): void {
    const picture = pictures.get(image);
    if (!picture || --picture.users > 0) return;
    pictures.delete(image);
    sizes.delete(image);
    picture.base.then(
      (base) => {
        base.dispose();
        (base.image as { close?(): void } | null)?.close?.();
      },
      () => undefined,
    );
  }

  /** The first image of a texture that can be decoded; counts as used. */
  async function findPicture(texture: Json | undefined): Promise<{ readonly image: number; readonly base: Texture }> {
    let fault: unknown = new FileFault('It names no image.');
    for (const { image, isKtx2 } of listSources(texture ?? {})) {
      try {
        return { image, base: await hold(image, isKtx2) };
      } catch (error) {
        release(image);
        fault = error;
      }
    }
    throw fault;
  }

  async function lend(index: number, lay: Lay, colour: boolean): Promise<Loan> {
    const texture = document.list('textures')[index];
    const { image, base } = await findPicture(texture);
    try {
      if (isClosed) throw new FileFault('The file was closed before its textures were loaded.');
      const sampler = document.list('samplers')[asIndex(texture!.sampler) ?? -1] ?? {};
      const key = JSON.stringify([image, sampler, colour, lay]);
      let entry = shared.get(key);
      if (!entry) {
        entry = { texture: makeTexture(base, sampler, colour, lay), users: 0 };
        shared.set(key, entry);
        sizes.set(image, measurePicture(base));
        pictures.get(image)!.users++;
      }
      const lent = entry;
      lent.users++;
      return {
        texture: lent.texture,
        image,
        giveBack() {
          if (--lent.users > 0) return;
          shared.delete(key);
          lent.texture.dispose();
          release(image);
        },
      };
    } finally {
      release(image);
    }
  }

  return {
    async lend(use, colour) {
      const json = asObject(use);
      const index = asIndex(json.index);
      const lay = readLay(json);
      if (index === undefined || faults.has(index) || lay.channel >= UV_SETS) return null;
      try {
        return await lend(index, lay, colour);
      } catch (error) {
        const reason = error instanceof Error ? error.message : String(error);
        if (!isClosed && !faults.has(index)) {
          faults.set(index, reason);
          console.warn(`Left out ${describeTexture(document, index)}: ${reason}`);
        }
        return null;
      }
    },
    measure: (images) => [...images].reduce((sum, image) => sum + (sizes.get(image) ?? 0), 0),
    faults,
    dispose() {
      isClosed = true;
      for (const { texture } of shared.values()) texture.dispose();
      shared.clear();
      for (const [image, picture] of [...pictures]) {
        picture.users = 1;
        release(image);
      }
    },
  };
}

/** The placement of a texture: its UV set, and `KHR_texture_transform`. */
interface Lay {
  readonly channel: number;
  readonly offset: readonly number[];
  readonly scale: readonly number[];
  readonly rotation: number | null;
}

function readLay(use: Json): Lay {
  const transform = getExtension(use, 'KHR_texture_transform') ?? {};
  return {
    channel: asIndex(transform.texCoord) ?? asIndex(use.texCoord) ?? 0,
    offset: asNumbers(transform.offset, 2) ?? [0, 0],
    scale: asNumbers(transform.scale, 2) ?? [1, 1],
    rotation: asNumber(transform.rotation) ?? null,
  };
}

function makeTexture(
  base: Texture,
  sampler: Json,
  colour: boolean,
  { channel, offset, scale, rotation }: Lay,
): Texture {
  const texture = base.clone();
  const isCompressed = (texture as CompressedTexture).isCompressedTexture === true;
  texture.flipY = false;
  texture.magFilter = (FILTERS[asIndex(sampler.magFilter) ?? -1] ?? LinearFilter) as Texture['magFilter'];
  texture.minFilter = FILTERS[asIndex(sampler.minFilter) ?? -1] ?? LinearMipmapLinearFilter;
  texture.wrapS = WRAPPINGS[asIndex(sampler.wrapS) ?? -1] ?? RepeatWrapping;
  texture.wrapT = WRAPPINGS[asIndex(sampler.wrapT) ?? -1] ?? RepeatWrapping;
  texture.generateMipmaps = !isCompressed && texture.minFilter !== NearestFilter && texture.minFilter !== LinearFilter;
  texture.colorSpace = colour ? SRGBColorSpace : NoColorSpace;
  texture.channel = channel;
  texture.offset.fromArray(offset);
  texture.repeat.fromArray(scale);
  if (rotation !== null) {
    // glTF scales before it turns. three turns first, so its own matrix would differ.
    const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
    const [x, y] = scale as [number, number];
    texture.rotation = rotation;
    texture.matrix.set(x * cos, y * sin, offset[0]!, -x * sin, y * cos, offset[1]!, 0, 0, 1);
    texture.matrixAutoUpdate = false;
  }
  texture.needsUpdate = true;
  return texture;
}

function measurePicture(texture: Texture): number {
  if ((texture as CompressedTexture).isCompressedTexture) {
    return (texture as CompressedTexture).mipmaps!.reduce((sum, { data }) => sum + (data?.byteLength ?? 0), 0);
  }
  const { width = 0, height = 0 } = (texture.image ?? {}) as { width?: number; height?: number };
  // Decoded, and on the GPU with its mipmaps.
  return width * height * 4 * (1 + 4 / 3);
}
