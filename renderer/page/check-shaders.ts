import { ShaderLib } from 'three';
import type { Chunks } from './change-shaders.ts';
import { addGlossBand } from './gloss-band.ts';
import { rewriteShading } from './occlusion-shader.ts';

/**
 * Makes all changes to three's shaders once, so that a change that no longer fits fails: while the page is built, and
 * each time a studio opens.
 * @throws Error that names what does not fit
 */
export function checkShaders(chunks?: Chunks, fragmentShader: string = ShaderLib.physical.fragmentShader): void {
  for (const isInOpen of [true, false]) addGlossBand(rewriteShading(fragmentShader, isInOpen, chunks));
}
