import {
  BufferAttribute,
  BufferGeometry,
  GLSL3,
  HalfFloatType,
  type IUniform,
  Mesh,
  NearestFilter,
  NeutralToneMapping,
  NoBlending,
  OrthographicCamera,
  RawShaderMaterial,
  Scene,
  SRGBColorSpace,
  Vector4,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import type { Tile } from '../tiles.ts';

/**
 * The order of operations that sums of layers rely on. Every fragment is tone-mapped (Khronos PBR Neutral) and
 * sRGB-encoded in its own shader, and premultiplied by coverage. It is then resolved over the samples of a pixel,
 * averaged over subsamples in float, and quantised once. Nothing non-linear comes after the shader.
 */
export function setToneCurve(renderer: WebGLRenderer): void {
  renderer.toneMapping = NeutralToneMapping;
  renderer.outputColorSpace = SRGBColorSpace;
}

/**
 * Samples of a pixel per subsample. Llvmpipe and SwiftShader shade every sample by itself. Four samples cost four times
 * the shading (5.0 s against 1.25 s for a 512 px still of 16 subsamples on two cores), as much as four subsamples,
 * which also vary the light. Software therefore uses only subsamples.
 */
export const SAMPLES = { gpu: 4, software: 0 } as const;

/**
 * A target whose fragments arrive tone-mapped and encoded.
 *
 * three skips tone curve and encoding for all render targets except those of an XR session: `isXRRenderTarget` and the
 * texture's colour space decide (WebGLPrograms, `toneMapping` and `outputColorSpace`; r187). Half floats hold encoded
 * values 0–1 to 1/8192 at worst, a 32nd of a level, and three never decodes them on reading.
 */
export function createEncodedTarget(widthPx: number, heightPx: number, samples: number): WebGLRenderTarget {
  const target = new WebGLRenderTarget(widthPx, heightPx, {
    type: HalfFloatType,
    colorSpace: SRGBColorSpace,
    samples,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: true,
    resolveDepthBuffer: false,
  });
  (target as WebGLRenderTarget & { isXRRenderTarget: boolean }).isXRRenderTarget = true;
  return target;
}

const VERTEX = /* glsl */ `
precision highp float;
in vec3 position;
out vec2 place;
void main() {
  place = position.xy * 0.5 + 0.5;
  gl_Position = vec4( position.xy, 0.0, 1.0 );
}
`;

/** A pass over every pixel of a target. It stores the shader's output without tone curve, encoding or blending. */
export interface FullscreenPass {
  readonly material: RawShaderMaterial;
  readonly uniforms: Record<string, IUniform>;
  draw(renderer: WebGLRenderer, target: WebGLRenderTarget | null): void;
  dispose(): void;
}

export function createFullscreenPass(fragmentShader: string, uniforms: Record<string, IUniform>): FullscreenPass {
  const geometry = new BufferGeometry();
  // One triangle that covers the whole target.
  geometry.setAttribute('position', new BufferAttribute(new Float32Array([-1, -1, 0, 3, -1, 0, -1, 3, 0]), 3));
  const material = new RawShaderMaterial({
    glslVersion: GLSL3,
    vertexShader: VERTEX,
    fragmentShader: `precision highp float;\nprecision highp sampler2D;\n${fragmentShader}`,
    uniforms,
    depthTest: false,
    depthWrite: false,
    blending: NoBlending,
  });
  const mesh = new Mesh(geometry, material);
  mesh.frustumCulled = false;
  const scene = new Scene();
  scene.matrixWorldAutoUpdate = false;
  scene.add(mesh);
  const camera = new OrthographicCamera();
  return {
    material,
    uniforms,
    draw(renderer, target) {
      const autoClear = renderer.autoClear;
      renderer.autoClear = false;
      renderer.setRenderTarget(target);
      renderer.render(scene, camera);
      renderer.autoClear = autoClear;
    },
    dispose() {
      geometry.dispose();
      material.dispose();
    },
  };
}

/** Converts a box from the top left corner to GL, which counts rows from the bottom of the target. */
export function toScissor({ left, top, widthPx, heightPx }: Tile, drawnHeightPx: number): Vector4 {
  return new Vector4(left, drawnHeightPx - top - heightPx, widthPx, heightPx);
}
