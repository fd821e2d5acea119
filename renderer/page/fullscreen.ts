import {
  BufferAttribute,
  BufferGeometry,
  GLSL3,
  type IUniform,
  Mesh,
  NoBlending,
  OrthographicCamera,
  RawShaderMaterial,
  Scene,
  type WebGLRenderer,
  type WebGLRenderTarget,
} from 'three';

const VERTEX = /* glsl */ `
precision highp float;
in vec3 position;
out vec2 place;
void main() {
  place = position.xy * 0.5 + 0.5;
  gl_Position = vec4( position.xy, 0.0, 1.0 );
}
`;

/** A pass over every pixel of a target. The shader writes what it writes: no tone curve, no encoding, no blending. */
export interface FullscreenPass {
  readonly material: RawShaderMaterial;
  readonly uniforms: Record<string, IUniform>;
  draw(renderer: WebGLRenderer, target: WebGLRenderTarget | null): void;
  dispose(): void;
}

export function createFullscreenPass(fragmentShader: string, uniforms: Record<string, IUniform>): FullscreenPass {
  const geometry = new BufferGeometry();
  // one triangle that covers the whole target
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
