import { LoadingManager, Texture, type WebGLRenderer } from 'three';
import { KTX2Loader } from 'three/examples/jsm/loaders/KTX2Loader.js';
import { FileFault } from './gltf-document.ts';

/** Decodes images of textures; each answer is a texture of its own that nothing else holds. */
export interface ImageDecoder {
  /** @throws FileFault where the bytes are no such image */
  decode(bytes: Uint8Array, isKtx2: boolean): Promise<Texture>;
  dispose(): void;
}

/** A damaged file can leave the transcoder hanging, which then answers nobody. */
const TRANSCODE_MS = 20_000;

export function createImageDecoder(renderer: WebGLRenderer): ImageDecoder {
  let transcoder: KTX2Loader | undefined;
  let underWay = 0;
  let isStale = false;

  /** One transcoder at a time. After a failure it goes as soon as nothing is under way: its memory may be spoiled. */
  function renew(): void {
    if (!isStale || underWay > 0) return;
    transcoder?.dispose();
    transcoder = undefined;
    isStale = false;
  }

  async function transcode(bytes: Uint8Array): Promise<Texture> {
    renew();
    transcoder ??= new KTX2Loader(new LoadingManager()).detectSupport(renderer);
    underWay++;
    try {
      const texture = await new Promise<Texture>((resolve, reject) => {
        setTimeout(reject, TRANSCODE_MS);
        transcoder!.parse(bytes.slice().buffer, resolve, reject);
      });
      const { isCompressedArrayTexture, isCubeTexture, isData3DTexture } = texture as unknown as Record<
        string,
        unknown
      >;
      if (isCompressedArrayTexture || isCubeTexture || isData3DTexture) {
        texture.dispose();
        throw new FileFault('A KTX2 texture is a cube, a volume or a stack of images.');
      }
      return texture;
    } catch (error) {
      isStale = true;
      throw error instanceof FileFault ? error : new FileFault('A KTX2 texture cannot be decoded.');
    } finally {
      underWay--;
      renew();
    }
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
    dispose() {
      transcoder?.dispose();
    },
  };
}
