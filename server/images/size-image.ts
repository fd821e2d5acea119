import { ImageUtils } from '@gltf-transform/core';
import { EXTTextureWebP, KHRTextureBasisu } from '@gltf-transform/extensions';
import type { ImageMimeType } from '../core/picture/sniff-image.ts';

// teaches the library to read the sizes of these two formats
EXTTextureWebP.register();
KHRTextureBasisu.register();

/** Width and height in pixels from the header alone; null when the header does not tell. */
export function sizeImage(bytes: Uint8Array, mimeType: ImageMimeType): { widthPx: number; heightPx: number } | null {
  try {
    const size = ImageUtils.getSize(bytes, mimeType);
    return size && size[0] > 0 && size[1] > 0 ? { widthPx: size[0], heightPx: size[1] } : null;
  } catch {
    return null;
  }
}
