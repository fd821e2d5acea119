import {
  HalfFloatType,
  NearestFilter,
  NeutralToneMapping,
  SRGBColorSpace,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';

/**
 * The order of operations, which sums of layers rely on: every fragment is tone-mapped (Khronos PBR Neutral) and
 * sRGB-encoded in its own shader, premultiplied by coverage, then resolved over the samples of a pixel, averaged over
 * subsamples in float, and quantised once. Nothing non-linear comes after the shader.
 */
export function setToneCurve(renderer: WebGLRenderer): void {
  renderer.toneMapping = NeutralToneMapping;
  renderer.outputColorSpace = SRGBColorSpace;
}

/**
 * Samples of a pixel per subsample. Llvmpipe and SwiftShader shade every sample by itself: four samples cost four times
 * the shading (5.0 s against 1.25 s for a 512 px still of 16 subsamples on two cores), no less than four subsamples,
 * which also jitter the light. So software takes its samples as subsamples alone.
 */
export const SAMPLES = { gpu: 4, software: 0 } as const;

/**
 * A target whose fragments arrive tone-mapped and encoded.
 *
 * three leaves out tone curve and encoding for any render target but one of an XR session: `isXRRenderTarget` and the
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

/** sRGB transfer, IEC 61966-2-1, encoded 0–1 to linear 0–1. */
export function decodeSrgb(encoded: number): number {
  return encoded <= 0.04045 ? encoded / 12.92 : ((encoded + 0.055) / 1.055) ** 2.4;
}
