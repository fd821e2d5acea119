import {
  CustomBlending,
  DepthStencilFormat,
  DepthTexture,
  EqualStencilFunc,
  FloatType,
  NearestFilter,
  OneFactor,
  UnsignedByteType,
  UnsignedInt248Type,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import type { Tile } from '../tiles.ts';
import { createEncodedTarget, createFullscreenPass, toScissor } from './targets.ts';

const PICK = /* glsl */ `
uniform sampler2D next;
out vec4 result;
void main() {
  result = texelFetch( next, ivec2( gl_FragCoord.xy ), 0 );
}
`;

/** The stencil where no part wrote it: the empty background. */
export const NO_OWNER = 0;

/** Layers that a stencil of eight bits can distinguish, beside the background and parts of no layer. */
export const SPLIT_LIMIT = 254;

/** Parts that are in no layer of the shot. */
export const OTHER_OWNER = 255;

/** One of the layers a shot is split into. */
export interface SplitLayer {
  /** The stencil of its pixels. */
  readonly owner: number;
  /** The box of the tile that it may cover. */
  readonly box: Tile;
}

/**
 * Sums of several layers from one drawing of the product. Every solid part marks its visible pixels by a stencil, and
 * each layer's sum adds its own pixels. The layers of a picture therefore cost little more than the picture.
 */
export interface LayerSums {
  /** The target of subsamples. Another size needs other sums. */
  readonly drawn: WebGLRenderTarget;
  /** Clears the sums. */
  begin(layers: readonly SplitLayer[]): void;
  /** Adds the subsample that was drawn. */
  add(): void;
  /** One layer's box, as `RawLayer` has it. */
  read(place: number): Uint8Array;
  dispose(): void;
}

/** Needs `EXT_float_blend`, since blending adds floats. */
export function createLayerSums(renderer: WebGLRenderer, widthPx: number, heightPx: number): LayerSums {
  const stencil = new DepthTexture(widthPx, heightPx, UnsignedInt248Type);
  stencil.format = DepthStencilFormat;
  const drawn = createEncodedTarget(widthPx, heightPx, 0);
  drawn.stencilBuffer = true;
  drawn.depthTexture = stencil;
  const targets: WebGLRenderTarget[] = [];
  const pick = createFullscreenPass(PICK, { next: { value: drawn.texture } });
  Object.assign(pick.material, {
    blending: CustomBlending,
    blendSrc: OneFactor,
    blendDst: OneFactor,
    stencilWrite: true,
    stencilFunc: EqualStencilFunc,
  });
  const reader = createLayerReader(renderer);
  let layers: readonly SplitLayer[] = [];
  let count = 0;

  function clear(target: WebGLRenderTarget): void {
    target.scissorTest = false;
    renderer.setRenderTarget(target);
    // Depth and stencil belong to the drawn target.
    renderer.clear(true, false, false);
  }

  return {
    drawn,
    begin(next) {
      layers = next;
      count = 0;
      while (targets.length < layers.length) targets.push(createSum(widthPx, heightPx, stencil));
      for (const target of targets.slice(0, layers.length)) clear(target);
    },
    add() {
      for (const [place, { owner, box }] of layers.entries()) {
        const target = targets[place]!;
        target.scissorTest = true;
        target.scissor.copy(toScissor(box, heightPx));
        pick.material.stencilRef = owner;
        pick.draw(renderer, target);
      }
      count++;
    },
    read: (place) => reader.read(targets[place]!, count, layers[place]!.box),
    dispose() {
      for (const part of [...targets, drawn, stencil, pick, reader]) part.dispose();
    },
  };
}

function createSum(widthPx: number, heightPx: number, depthTexture: DepthTexture): WebGLRenderTarget {
  return new WebGLRenderTarget(widthPx, heightPx, {
    type: FloatType,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    stencilBuffer: true,
    depthTexture,
  });
}

/**
 * Premultiplied, in 256ths of a level, as two bytes of which "high" selects one: 255 levels are 65280. A fully covered
 * pixel belongs to one layer and is rounded to whole levels here, as in a picture. All other pixels keep their
 * remainder, because several layers share them. Rows run from the top, as in files.
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

/** Reads layers from sums of subsamples. */
interface LayerReader {
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
      // The target only grows.
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
