import { type BufferGeometry, LoadingManager, type Mesh, Texture, type WebGLRenderer } from 'three';
import type { KTX2Loader } from 'three/examples/jsm/loaders/KTX2Loader.js';
import { asIndex, asObject, FileFault, type GltfDocument, type Json } from './gltf-document.ts';
import { isComponentType } from './read-accessor.ts';

/** Unpacks a file's images and geometry, with the decoders built beside the page. They load when a file needs them. */
export interface Decoders {
  readonly images: ImageDecoder;
  readonly draco: DracoDecoder;
  dispose(): void;
}

export function createDecoders(renderer: WebGLRenderer): Decoders {
  const images = createImageDecoder(renderer);
  const draco = createDracoDecoder();
  return {
    images,
    draco,
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

function createImageDecoder(renderer: WebGLRenderer): ImageDecoder {
  const ktx2 = recreateOnFailure(async () => {
    const { KTX2Loader } = await import('three/examples/jsm/loaders/KTX2Loader.js');
    return new KTX2Loader(new LoadingManager()).detectSupport(renderer);
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

const DRACO = 'KHR_draco_mesh_compression';

/** A task that takes longer counts as hanging. */
const DECODE_MS = 30_000;

/**
 * three's Draco loader reads attributes by their identifiers, as glTF requires, but only for three's glTF loader. That
 * loader therefore gets a file with this one primitive.
 */
function createDracoDecoder(): DracoDecoder {
  const draco = recreateOnFailure(async () => {
    const { DRACOLoader } = await import('three/examples/jsm/loaders/DRACOLoader.js');
    return new DRACOLoader(new LoadingManager());
  }, DECODE_MS);
  return {
    async decode(document, primitive, packing) {
      const bytes = await document.readView(packing.bufferView);
      const url = URL.createObjectURL(new Blob([bytes as Uint8Array<ArrayBuffer>]));
      const text = writePrimitive(document, primitive, packing, { uri: url, byteLength: bytes.length });
      try {
        const { GLTFLoader } = await import('three/examples/jsm/loaders/GLTFLoader.js');
        return await draco.use(async (decoder) => {
          const loader = new GLTFLoader(new LoadingManager()).setDRACOLoader(decoder);
          const { scene } = await loader.parseAsync(text, '');
          return (scene.children[0] as Mesh).geometry;
        });
      } catch {
        throw new FileFault('Geometry compressed with Draco cannot be decoded.');
      } finally {
        URL.revokeObjectURL(url);
      }
    },
    dispose: () => draco.dispose(),
  };
}

function writePrimitive(document: GltfDocument, primitive: Json, packing: Json, buffer: Json): string {
  const accessors: Json[] = [];
  const attributes: Record<string, number> = {};
  const packed: Record<string, number> = {};
  for (const [name, index] of Object.entries(asObject(primitive.attributes))) {
    const { componentType, type, count, normalized } = document.list('accessors')[asIndex(index) ?? -1] ?? {};
    const id = asIndex(asObject(packing.attributes)[name]);
    if (id === undefined || !isComponentType(componentType) || asIndex(count) === undefined) continue;
    packed[name] = id;
    // three requires bounds; the studio measures them elsewhere.
    attributes[name] = accessors.push({ componentType, type, count, normalized, min: [0, 0, 0], max: [0, 0, 0] }) - 1;
  }
  if (attributes.POSITION === undefined) throw new FileFault('Geometry compressed with Draco has no positions.');
  return JSON.stringify({
    asset: { version: '2.0' },
    extensionsUsed: [DRACO],
    buffers: [buffer],
    bufferViews: [{ buffer: 0, byteLength: buffer.byteLength }],
    accessors,
    meshes: [{ primitives: [{ attributes, extensions: { [DRACO]: { bufferView: 0, attributes: packed } } }] }],
    nodes: [{ mesh: 0 }],
    scenes: [{ nodes: [0] }],
    scene: 0,
  });
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
