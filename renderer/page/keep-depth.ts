import type { Material, WebGLProgramParametersWithUniforms } from 'three';

/**
 * Makes a vertex land at the very same depth whatever program draws it. Compilers may work out the same expression
 * differently in two programs; coplanar parts, of which the later one is seen, would then come through in patches when
 * one of them is held out of a layer.
 */
export function keepDepth(shader: Pick<WebGLProgramParametersWithUniforms, 'vertexShader'>): void {
  shader.vertexShader = `invariant gl_Position;\n${shader.vertexShader}`;
}

const kept = new WeakSet<Material>();

/** The same for a material whose shader is not changed otherwise. */
export function keepDepthOf(material: Material): void {
  if (kept.has(material)) return;
  kept.add(material);
  material.onBeforeCompile = keepDepth;
  material.customProgramCacheKey = () => 'keeps depth';
  material.needsUpdate = true;
}
