import {
  CustomBlending,
  DepthStencilFormat,
  DepthTexture,
  EqualStencilFunc,
  FloatType,
  NearestFilter,
  OneFactor,
  UnsignedInt248Type,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { createFullscreenPass } from './fullscreen.ts';
import { createLayerReader } from './layer-reader.ts';
import type { Tile } from './tiles.ts';
import { toScissor } from './tiles.ts';
import { createEncodedTarget } from './tone.ts';

const PICK = /* glsl */ `
uniform sampler2D next;
out vec4 result;
void main() {
  result = texelFetch( next, ivec2( gl_FragCoord.xy ), 0 );
}
`;

/** What the stencil holds where nothing was drawn that writes it: the open ground. */
export const NOBODY = 0;

/** Layers that a stencil of eight bits can tell apart, beside the ground and what belongs to none of them. */
export const SPLIT_LIMIT = 254;

/** Parts that are in no layer of the shot. */
export const OTHERS = 255;

/** One of the layers a shot is split into. */
export interface SplitLayer {
  /** What the stencil holds where a pixel is its own. */
  readonly owner: number;
  /** What of the tile it may cover. */
  readonly box: Tile;
}

/**
 * Sums of several layers out of one drawing of the product: every solid part marks the pixels it is seen in by a stencil,
 * and each layer's sum takes those that are its own. A picture's layers then cost little more than the picture.
 */
export interface LayerSums {
  /** What subsamples are drawn into. Of another size it is another one. */
  readonly drawn: WebGLRenderTarget;
  /** Starts again from empty sums. */
  begin(layers: readonly SplitLayer[]): void;
  /** Adds what was drawn. */
  add(): void;
  /** One layer's box, as `RawLayer` has it. */
  read(place: number): Uint8Array;
  dispose(): void;
}

/** It takes `EXT_float_blend`: floats are added while they are drawn. */
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
    // depth and stencil belong to what is drawn
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
