import { LoadingManager, Texture, type WebGLRenderer } from 'three';
import { KTX2Loader } from 'three/examples/jsm/loaders/KTX2Loader.js';
import { FileFault } from './gltf-document.ts';
import { recreateOnFailure } from './recreate-on-failure.ts';

/** Decodes images of textures; each answer is a texture of its own that nothing else holds. */
export interface ImageDecoder {
  /** @throws FileFault where the bytes are no such image */
  decode(bytes: Uint8Array, isKtx2: boolean): Promise<Texture>;
  dispose(): void;
}

/** Work that takes longer is taken for hanging. */
const TRANSCODE_MS = 20_000;

export function createImageDecoder(renderer: WebGLRenderer): ImageDecoder {
  const ktx2 = recreateOnFailure(() => new KTX2Loader(new LoadingManager()).detectSupport(renderer), TRANSCODE_MS);

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
