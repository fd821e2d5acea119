import {
  FloatType,
  NearestFilter,
  type Texture,
  UnsignedByteType,
  Vector4,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { type Ground, toGroundLevels } from '../../server/core/picture/picture.ts';
import { THRESHOLD } from '../dither.ts';
import type { Tile } from '../tiles.ts';
import { createLayerReader } from './layer-sums.ts';
import { createFullscreenPass, type FullscreenPass, toScissor } from './targets.ts';

const ADD = /* glsl */ `
uniform sampler2D sum;
uniform sampler2D next;
uniform float first;
out vec4 result;
void main() {
  ivec2 pixel = ivec2( gl_FragCoord.xy );
  result = texelFetch( next, pixel, 0 );
  if ( first == 0.0 ) result += texelFetch( sum, pixel, 0 );
}
`;

/**
 * Divides by the count, adds the background, makes alpha straight and rounds once: half up, or by a pattern where there
 * is only shadow. With a background the pattern is inverted, so that it darkens the pixels that it makes denser without
 * one. Rows run from the top, as in files.
 */
const QUANTISE = /* glsl */ `
precision highp int;
uniform sampler2D sum;
uniform float count;
uniform vec4 ground;
uniform ivec2 corner;
out vec4 result;
${THRESHOLD}
void main() {
  ivec2 size = textureSize( sum, 0 );
  ivec2 pixel = ivec2( gl_FragCoord.xy );
  vec4 mean = texelFetch( sum, ivec2( pixel.x, size.y - 1 - pixel.y ), 0 ) / count;
  vec4 shown = ground.a > 0.0
    ? vec4( mean.rgb + ( 1.0 - mean.a ) * ground.rgb, 1.0 )
    : vec4( mean.a > 0.0 ? mean.rgb / mean.a : vec3( 0.0 ), mean.a );
  float threshold = mean.rgb == vec3( 0.0 ) ? getThreshold( pixel + corner ) : 0.5;
  if ( ground.a > 0.0 ) threshold = 1.0 - threshold;
  result = floor( clamp( shown, 0.0, 1.0 ) * 255.0 + threshold ) / 255.0;
  if ( result.a == 0.0 ) result = vec4( 0.0 );
}
`;

/** Sums encoded, premultiplied subsamples in float32 and reads the quantised mean. */
export interface Accumulator {
  /** The piece of a picture that is summed. */
  resize(tile: Tile): void;
  /** Adds a resolved subsample, or a box of it. The first of a picture replaces the sum. */
  add(next: Texture, box?: Tile): void;
  /** 8-bit straight alpha, rows from the top, over the background. */
  read(ground: Ground): Uint8Array;
  /** A box of it as a layer: high bytes of all pixels, then their low bytes; see `RawLayer`. */
  readLayer(box: Tile): Uint8Array;
  /** The mean as floats, rows from the bottom, premultiplied; for calibration. */
  readFloat(): Float32Array;
  /** Sum and number of subsamples so far. */
  getSum(): { readonly texture: Texture; readonly count: number };
  reset(): void;
  dispose(): void;
}

export function createAccumulator(renderer: WebGLRenderer): Accumulator {
  let [sum, other] = [createTarget(FloatType), createTarget(FloatType)];
  const bytes = createTarget(UnsignedByteType);
  const add = createFullscreenPass(ADD, { sum: { value: null }, next: { value: null }, first: { value: 1 } });
  const quantise = createFullscreenPass(QUANTISE, {
    sum: { value: null },
    count: { value: 1 },
    ground: { value: new Vector4(0, 0, 0, 0) },
    corner: { value: [0, 0] },
  });
  const reader = createLayerReader(renderer);
  let count = 0;
  return {
    resize({ left, top, widthPx, heightPx }) {
      quantise.uniforms.corner!.value = [left, top];
      for (const target of [sum, other, bytes]) target.setSize(widthPx, heightPx);
      count = 0;
    },
    add(next, box) {
      other.scissorTest = box !== undefined;
      if (box) other.scissor.copy(toScissor(box, other.height));
      set(add, { sum: sum.texture, next, first: count === 0 ? 1 : 0 });
      add.draw(renderer, other);
      [sum, other] = [other, sum];
      count++;
    },
    read(ground) {
      const levels = toGroundLevels(ground);
      const behind = levels ? new Vector4(...levels.map((level) => level / 255), 1) : new Vector4(0, 0, 0, 0);
      set(quantise, { sum: sum.texture, count, ground: behind });
      quantise.draw(renderer, bytes);
      const { width, height } = bytes;
      const pixels = new Uint8Array(width * height * 4);
      renderer.readRenderTargetPixels(bytes, 0, 0, width, height, pixels);
      return pixels;
    },
    readLayer: (box) => reader.read(sum, count, box),
    readFloat() {
      const pixels = new Float32Array(sum.width * sum.height * 4);
      renderer.readRenderTargetPixels(sum, 0, 0, sum.width, sum.height, pixels);
      return pixels.map((value) => value / count);
    },
    getSum: () => ({ texture: sum.texture, count }),
    reset() {
      count = 0;
    },
    dispose() {
      for (const part of [sum, other, bytes, add, quantise, reader]) part.dispose();
    },
  };
}

function createTarget(type: typeof FloatType | typeof UnsignedByteType): WebGLRenderTarget {
  return new WebGLRenderTarget(1, 1, {
    type,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: false,
  });
}

function set(pass: FullscreenPass, values: Readonly<Record<string, unknown>>): void {
  for (const [name, value] of Object.entries(values)) pass.uniforms[name]!.value = value;
}

/** Rounds a shadow by the same pattern as in a picture, because the canvas has whole levels. */
const SHOW = /* glsl */ `
precision highp int;
uniform sampler2D sum;
uniform float count;
in vec2 place;
out vec4 result;
${THRESHOLD}
void main() {
  result = texture( sum, place ) / count;
  if ( result.rgb == vec3( 0.0 ) ) result.a = floor( result.a * 255.0 + getThreshold( ivec2( gl_FragCoord.xy ) ) ) / 255.0;
}
`;

/** Draws the mean of the subsamples so far on the canvas, premultiplied as the page's compositor expects. */
export function createPresenter(renderer: WebGLRenderer): { show(accumulator: Accumulator): void; dispose(): void } {
  const pass = createFullscreenPass(SHOW, { sum: { value: null }, count: { value: 1 } });
  return {
    show(accumulator) {
      const { texture, count } = accumulator.getSum();
      pass.uniforms.sum!.value = texture;
      pass.uniforms.count!.value = count;
      pass.draw(renderer, null);
    },
    dispose: () => pass.dispose(),
  };
}
