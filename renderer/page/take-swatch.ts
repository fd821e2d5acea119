import { DoubleSide, type Material, type MeshStandardMaterial } from 'three';
import type { SwatchShot } from '../../server/core/ports/renderer.ts';
import type { ModelLoader } from './create-loader.ts';
import { createCuttingSet } from './cutting.ts';
import { createFlatMaterial } from './flat-material.ts';
import { createPanelSet } from './panel.ts';
import { listTextures } from './prepare-material.ts';
import { createSphereSet } from './sphere.ts';
import type { Stage } from './stage.ts';
import { StudioProblem } from './studio-problem.ts';
import type { SwatchSet } from './swatch-set.ts';

/** A swatch shot whose kit is to be had under an address. */
export interface SwatchOrder extends Omit<SwatchShot, 'key' | 'kit'> {
  readonly url: string;
}

/**
 * Materials kept after their shot, without their maps: a program lives as long as a material that uses it, and a new
 * one costs fifty milliseconds in software. Finishes of a range need a handful of programs.
 */
const KEPT_MATERIALS = 24;

/** Takes swatches. Shapes, targets and programs stay; only the finish comes and goes. */
export function createSwatchStudio(
  stage: Stage,
  loader: ModelLoader,
): { take(order: SwatchOrder): Promise<Uint8Array> } {
  const sets: Partial<Record<SwatchShot['kind'], SwatchSet>> = {};
  const create = { sphere: createSphereSet, panel: createPanelSet, cutting: createCuttingSet };
  const kept: Material[] = [];
  return {
    async take(order) {
      sets[order.kind] ??= create[order.kind](stage);
      const set = sets[order.kind]!;
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
        const flat = order.light === 'flat';
        set.mesh.material = raw;
        gltf.parser.assignFinalMaterial(set.mesh);
        if (flat) set.mesh.material = createFlatMaterial(set.mesh.material as Material);
        const material = set.mesh.material as Material;
        worn.add(material);
        if (set.twoSided) material.side = DoubleSide;
        stage.prepare(material, set.open);
        stage.setSize(order.sizePx, order.sizePx);
        const metal = (raw as Partial<MeshStandardMaterial>).metalness === 1;
        set.set({ sizePx: order.sizePx, widthMm: order.widthMm ?? 0, flat, metal });
        const subsamples = set.getSubsamples(order.sizePx);
        for (let index = 0; index < subsamples; index++) {
          if (!set.open && !flat) stage.light.use(index);
          stage.addSubsample(index);
        }
        const rgba = stage.accumulator.read(order.ground);
        set.finish?.(rgba);
        return rgba;
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
