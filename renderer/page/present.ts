import type { WebGLRenderer } from 'three';
import type { Accumulator } from './accumulate.ts';
import { createFullscreenPass } from './fullscreen.ts';

const SHOW = /* glsl */ `
uniform sampler2D sum;
uniform float count;
in vec2 place;
out vec4 result;
void main() {
  result = texture( sum, place ) / count;
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
