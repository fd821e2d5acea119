import { type BufferGeometry, LinearSRGBColorSpace, LoadingManager, Texture, type WebGLRenderer } from 'three';
import type { DRACOLoader } from 'three/examples/jsm/loaders/DRACOLoader.js';
import type { KTX2Loader } from 'three/examples/jsm/loaders/KTX2Loader.js';
import {
  allowsWebAssembly,
  createDracoFrom,
  loadMeshopt,
  loadMeshoptFrom,
  type MeshoptLoader,
  runTranscoderFrom,
} from './decoder-workers.ts';
import { asIndex, asObject, FileFault, type GltfDocument, type Json } from './gltf-document.ts';
import { isComponentType } from './read-accessor.ts';

/** Unpacks a file's images and geometry, with the decoders built beside the page. They load when a file needs them. */
export interface Decoders {
  readonly images: ImageDecoder;
  readonly draco: DracoDecoder;
  readonly loadMeshopt: MeshoptLoader;
  dispose(): void;
}

/** @param workers folder with workers as files, for pages whose policy refuses `blob:`; null: three makes its own */
export function createDecoders(renderer: WebGLRenderer, workers: string | null = null): Decoders {
  const images = createImageDecoder(renderer, workers);
  const draco = createDracoDecoder(workers);
  return {
    images,
    draco,
    loadMeshopt: workers === null ? loadMeshopt : loadMeshoptFrom(workers),
    dispose() {
      images.dispose();
      draco.dispose();
    },
  };
}

/** Decodes images of textures. Each call returns a new texture, which the caller owns. */
export interface ImageDecoder {
  /** @throws FileFault if the bytes are not such an image */
  decode(bytes: Uint8Array, isKtx2: boolean): Promise<Texture>;
  dispose(): void;
}

/** A task that takes longer counts as hanging. */
const TRANSCODE_MS = 20_000;

function createImageDecoder(renderer: WebGLRenderer, workers: string | null): ImageDecoder {
  const ktx2 = recreateOnFailure(async () => {
    if (!allowsWebAssembly()) throw new FileFault('A KTX2 texture needs WebAssembly, which this page refuses.');
    const { KTX2Loader } = await import('three/examples/jsm/loaders/KTX2Loader.js');
    const loader = new KTX2Loader(new LoadingManager()).detectSupport(renderer);
    if (workers !== null) await runTranscoderFrom(workers, loader);
    return loader;
  }, TRANSCODE_MS);

  function transcode(bytes: Uint8Array): Promise<Texture> {
    const work = (transcoder: KTX2Loader) =>
      new Promise<Texture>((resolve, reject) => transcoder.parse(bytes.slice().buffer, resolve, reject));
    return ktx2
      .use(async (transcoder) => {
        const texture = await work(transcoder);
        const { isCompressedArrayTexture, isCubeTexture, isData3DTexture } = texture as unknown as Record<
          string,
          unknown
        >;
        if (!isCompressedArrayTexture && !isCubeTexture && !isData3DTexture) return texture;
        texture.dispose();
        throw new FileFault('A KTX2 texture is a cube, a volume or a stack of images.');
      })
      .catch((error: unknown) => {
        throw error instanceof FileFault ? error : new FileFault('A KTX2 texture cannot be decoded.');
      });
  }

  return {
    async decode(bytes, isKtx2) {
      if (isKtx2) return transcode(bytes);
      const blob = new Blob([bytes as Uint8Array<ArrayBuffer>]);
      const options = { premultiplyAlpha: 'none', colorSpaceConversion: 'none' } as const;
      const bitmap = await createImageBitmap(blob, options).catch(() => {
        throw new FileFault('An image cannot be decoded.');
      });
      return new Texture(bitmap);
    },
    dispose: () => ktx2.dispose(),
  };
}

/** Decodes Draco primitives. */
export interface DracoDecoder {
  /** Attributes and indices of a primitive's Draco data, under three's names. @throws FileFault */
  decode(document: GltfDocument, primitive: Json, packing: Json): Promise<BufferGeometry>;
  dispose(): void;
}

/** A task that takes longer counts as hanging. */
const DECODE_MS = 30_000;

/** Names that three gives attributes; the studio reads no others. */
const NAMES: Readonly<Record<string, string>> = {
  POSITION: 'position',
  NORMAL: 'normal',
  TANGENT: 'tangent',
  TEXCOORD_0: 'uv',
  TEXCOORD_1: 'uv1',
  TEXCOORD_2: 'uv2',
  TEXCOORD_3: 'uv3',
  COLOR_0: 'color',
  WEIGHTS_0: 'skinWeight',
  JOINTS_0: 'skinIndex',
};

const KINDS: Readonly<Record<number, string>> = {
  5120: 'Int8Array',
  5121: 'Uint8Array',
  5122: 'Int16Array',
  5123: 'Uint16Array',
  5125: 'Uint32Array',
  5126: 'Float32Array',
};

/** three's Draco loader reads attributes by their identifiers, as glTF requires. */
function createDracoDecoder(workers: string | null): DracoDecoder {
  const draco = recreateOnFailure(async () => {
    const { DRACOLoader } = await import('three/examples/jsm/loaders/DRACOLoader.js');
    const loader = new DRACOLoader(new LoadingManager()) as DRACOLoader & ByIdentifiers;
    return workers === null ? loader : createDracoFrom(workers, loader);
  }, DECODE_MS);
  return {
    async decode(document, primitive, packing) {
      const bytes = await document.readView(packing.bufferView);
      const { ids, kinds, normalized } = describePrimitive(document, primitive, packing);
      try {
        const geometry = await draco.use(
          (decoder) =>
            new Promise<BufferGeometry>((resolve, reject) => {
              void decoder.decodeDracoFile(bytes.slice().buffer, resolve, ids, kinds, LinearSRGBColorSpace, reject);
            }),
        );
        for (const [name, value] of Object.entries(normalized)) {
          const attribute = geometry.getAttribute(name);
          if (attribute) attribute.normalized = value;
        }
        return geometry;
      } catch {
        throw new FileFault('Geometry compressed with Draco cannot be decoded.');
      }
    },
    dispose: () => draco.dispose(),
  };
}

/** What three's glTF loader calls; three's types leave it out. */
interface ByIdentifiers {
  decodeDracoFile(
    bytes: ArrayBuffer,
    onDecoded: (geometry: BufferGeometry) => void,
    ids: Readonly<Record<string, number>>,
    kinds: Readonly<Record<string, string>>,
    colorSpace: string,
    onError: (error: unknown) => void,
  ): Promise<void>;
}

function describePrimitive(document: GltfDocument, primitive: Json, packing: Json) {
  const ids: Record<string, number> = {};
  const kinds: Record<string, string> = {};
  const normalized: Record<string, boolean> = {};
  for (const [attribute, index] of Object.entries(asObject(primitive.attributes))) {
    const accessor = document.list('accessors')[asIndex(index) ?? -1] ?? {};
    const id = asIndex(asObject(packing.attributes)[attribute]);
    const name = NAMES[attribute] ?? attribute.toLowerCase();
    if (id === undefined || !isComponentType(accessor.componentType) || asIndex(accessor.count) === undefined) continue;
    ids[name] = id;
    kinds[name] = KINDS[accessor.componentType as number]!;
    normalized[name] = accessor.normalized === true;
  }
  if (ids.position === undefined) throw new FileFault('Geometry compressed with Draco has no positions.');
  return { ids, kinds, normalized };
}

/** One of three's decoders, created on first use and again after a failure. */
interface Renewed<T> {
  /** Runs one task with it. @throws errors of the task, and an Error when it takes too long */
  use<R>(work: (decoder: T) => Promise<R>): Promise<R>;
  dispose(): void;
}

/**
 * A damaged file can corrupt a decoder's memory or make it hang. After a failure it gets no new tasks, and it is disposed
 * when its current tasks have ended.
 * @param timeoutMs a task that takes longer counts as hanging
 */
function recreateOnFailure<T extends { dispose(): unknown }>(make: () => Promise<T>, timeoutMs: number): Renewed<T> {
  let current: { readonly decoder: Promise<T>; underWay: number } | undefined;
  const dispose = (decoder: Promise<T>) =>
    decoder.then(
      (made) => made.dispose(),
      () => undefined,
    );
  return {
    async use(work) {
      current ??= { decoder: make(), underWay: 0 };
      const own = current;
      own.underWay++;
      let timer: ReturnType<typeof setTimeout> | undefined;
      const late = new Promise<never>((_, reject) => {
        timer = setTimeout(() => reject(new Error('The decoder does not answer.')), timeoutMs);
      });
      try {
        return await Promise.race([own.decoder.then(work), late]);
      } catch (error) {
        if (current === own) current = undefined;
        throw error;
      } finally {
        clearTimeout(timer);
        own.underWay--;
        if (current !== own && own.underWay === 0) void dispose(own.decoder);
      }
    },
    dispose() {
      if (current) void dispose(current.decoder);
    },
  };
}
