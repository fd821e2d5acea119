import { Color, NearestFilter, type WebGLRenderer, WebGLRenderTarget } from 'three';

/** Tells whether the GL context has lived all along. */
export interface Witness {
  isThere(): boolean;
}

/** Bytes of the pixel: none of them zero, which is what a lost context answers. */
const COLOUR = [51, 102, 153, 255] as const;

/**
 * Keeps a pixel of known colour on the GL side. A context whose process has died reads as zeros at once, while
 * `isContextLost` and its event follow some hundredths of a second later: a picture read meanwhile would be an empty one.
 */
export function createWitness(renderer: WebGLRenderer): Witness {
  const target = new WebGLRenderTarget(1, 1, {
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: false,
  });
  const [colour, alpha] = [renderer.getClearColor(new Color()), renderer.getClearAlpha()];
  renderer.setRenderTarget(target);
  // sRGB bytes as they are, without conversion
  renderer.setClearColor(new Color().setRGB(...toShares(COLOUR)), 1);
  renderer.clear();
  renderer.setClearColor(colour, alpha);
  renderer.setRenderTarget(null);
  return {
    isThere() {
      const pixel = new Uint8Array(4);
      renderer.readRenderTargetPixels(target, 0, 0, 1, 1, pixel);
      return COLOUR.every((level, channel) => level === pixel[channel]);
    },
  };
}

function toShares([red, green, blue]: readonly [number, number, number, number]): [number, number, number] {
  return [red / 255, green / 255, blue / 255];
}
