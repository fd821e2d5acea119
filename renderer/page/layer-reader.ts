import { NearestFilter, UnsignedByteType, type WebGLRenderer, WebGLRenderTarget } from 'three';
import { createFullscreenPass } from './fullscreen.ts';
import type { Tile } from './tiles.ts';

/**
 * Premultiplied, in 256ths of a level, as two bytes of which "high" picks one: 255 levels are 65280. What covers a whole
 * pixel has it to itself and is rounded to whole levels here, as a picture is; all else keeps its remainder, since several
 * layers meet there. Rows run from the top, as files have them.
 */
const QUANTISE = /* glsl */ `
uniform sampler2D sum;
uniform float count;
uniform float high;
uniform ivec2 corner;
out vec4 result;
void main() {
  ivec2 pixel = ivec2( gl_FragCoord.xy ) + corner;
  pixel.y = textureSize( sum, 0 ).y - 1 - pixel.y;
  vec4 mean = clamp( texelFetch( sum, pixel, 0 ) / count, 0.0, 1.0 );
  vec4 parts = floor( mean * 65280.0 + 0.5 );
  if ( parts.a >= 65280.0 ) parts = floor( mean * 255.0 + 0.5 ) * 256.0;
  vec4 levels = floor( parts / 256.0 );
  result = ( high > 0.0 ? levels : parts - levels * 256.0 ) / 255.0;
}
`;

/** Reads layers out of sums of subsamples. */
export interface LayerReader {
  /** High bytes of all pixels of a box, then their low bytes; see `RawLayer`. */
  read(sum: WebGLRenderTarget, count: number, box: Tile): Uint8Array;
  dispose(): void;
}

export function createLayerReader(renderer: WebGLRenderer): LayerReader {
  const bytes = new WebGLRenderTarget(1, 1, {
    type: UnsignedByteType,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: false,
  });
  const pass = createFullscreenPass(QUANTISE, {
    sum: { value: null },
    count: { value: 1 },
    high: { value: 1 },
    corner: { value: [0, 0] },
  });
  return {
    read(sum, count, { left, top, widthPx, heightPx }) {
      const plane = widthPx * heightPx * 4;
      const pixels = new Uint8Array(plane * 2);
      if (plane === 0) return pixels;
      // a new target is made only where the old one is too small
      if (bytes.width < widthPx || bytes.height < heightPx) {
        bytes.setSize(Math.max(bytes.width, widthPx), Math.max(bytes.height, heightPx));
      }
      bytes.scissorTest = true;
      bytes.scissor.set(0, 0, widthPx, heightPx);
      pass.uniforms.sum!.value = sum.texture;
      pass.uniforms.count!.value = count;
      pass.uniforms.corner!.value = [left, top];
      for (const high of [1, 0]) {
        pass.uniforms.high!.value = high;
        pass.draw(renderer, bytes);
        renderer.readRenderTargetPixels(bytes, 0, 0, widthPx, heightPx, pixels.subarray((1 - high) * plane));
      }
      return pixels;
    },
    dispose() {
      bytes.dispose();
      pass.dispose();
    },
  };
}
