import type { Material } from 'three';
import type { Ground } from '../../server/core/picture/picture.ts';
import type { ModelLoader } from './create-loader.ts';
import { listTextures } from './prepare-material.ts';
import { createSphereSet, getSphereSubsamples } from './sphere.ts';
import type { Stage } from './stage.ts';
import { StudioProblem } from './studio-problem.ts';

export interface SphereOrder {
  readonly url: string;
  readonly sizePx: number;
  readonly ground: Ground;
}

/**
 * Materials kept after their shot, without their maps: a program lives as long as a material that uses it, and a new
 * one costs fifty milliseconds in software. Finishes of a range need a handful of programs.
 */
const KEPT_MATERIALS = 24;

/** Takes swatch spheres. Shape, targets and programs stay; only the finish comes and goes. */
export function createSphereStudio(
  stage: Stage,
  loader: ModelLoader,
): { take(order: SphereOrder): Promise<Uint8Array> } {
  const set = createSphereSet(stage);
  const kept: Material[] = [];
  return {
    async take(order) {
      const { gltf, failedTextures } = await loader.load(order.url);
      if (!gltf.parser.json.materials?.[0]) {
        throw new StudioProblem('renderer-failed', 'The finish kit holds no material.');
      }
      const raw = (await gltf.parser.getDependency('material', 0)) as Material;
      const worn = new Set<Material>([raw]);
      try {
        if (failedTextures.size > 0) {
          throw new StudioProblem(
            'renderer-failed',
            `Texture ${[...failedTextures][0]} of the finish cannot be decoded.`,
          );
        }
        set.mesh.material = raw;
        gltf.parser.assignFinalMaterial(set.mesh);
        const material = set.mesh.material as Material;
        worn.add(material);
        stage.prepare(material, true);
        stage.setSize(order.sizePx, order.sizePx);
        set.set();
        const subsamples = getSphereSubsamples(order.sizePx);
        for (let index = 0; index < subsamples; index++) stage.addSubsample(index);
        return stage.accumulator.read(order.ground);
      } finally {
        stage.show([]);
        for (const material of worn) {
          for (const texture of listTextures(material)) {
            texture.dispose();
            (texture.image as { close?(): void } | undefined)?.close?.();
          }
          kept.push(material);
        }
        for (const material of kept.splice(0, Math.max(0, kept.length - KEPT_MATERIALS))) material.dispose();
      }
    },
  };
}
