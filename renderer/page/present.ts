import type { WebGLRenderer } from 'three';
import { THRESHOLD } from '../dither.ts';
import type { Accumulator } from './accumulate.ts';
import { createFullscreenPass } from './fullscreen.ts';

/** The canvas rounds to whole levels; a shadow by the same pattern as in a picture. */
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

/** Puts the mean of the subsamples so far on the canvas, premultiplied as the page's compositor takes it. */
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
