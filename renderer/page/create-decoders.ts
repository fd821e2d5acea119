import type { WebGLRenderer } from 'three';
import { createDracoDecoder, type DracoDecoder } from './decode-draco.ts';
import { createImageDecoder, type ImageDecoder } from './decode-image.ts';

/** What unpacks a file's images and geometry, with the decoders built beside the page. */
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
