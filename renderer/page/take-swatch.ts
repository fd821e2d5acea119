import { DoubleSide, type Material, type MeshStandardMaterial } from 'three';
import type { SwatchShot } from '../../server/core/ports/renderer.ts';
import type { Decoders } from './create-decoders.ts';
import { createCuttingSet } from './cutting.ts';
import { createFlatMaterial } from './flat-material.ts';
import { describeTexture, fetchDocument } from './gltf-document.ts';
import { makeMaterial, toFit } from './make-material.ts';
import { createPanelSet } from './panel.ts';
import { createSphereSet } from './sphere.ts';
import { StudioProblem } from './studio-problem.ts';
import type { Stage } from './studio-scene.ts';
import type { SwatchSet } from './swatch-set.ts';
import { createTextureStore } from './texture-store.ts';

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
  decoders: Decoders,
): { take(order: SwatchOrder): Promise<Uint8Array> } {
  const sets: Partial<Record<SwatchShot['kind'], SwatchSet>> = {};
  const create = { sphere: createSphereSet, panel: createPanelSet, cutting: createCuttingSet };
  const kept: Material[] = [];
  return {
    async take(order) {
      sets[order.kind] ??= create[order.kind](stage);
      const set = sets[order.kind]!;
      const document = await fetchDocument(order.url);
      const [json] = document.list('materials');
      if (!json) throw new StudioProblem('renderer-failed', 'The finish kit holds no material.');
      const textures = createTextureStore(document, decoders.images);
      const { geometry } = set.mesh;
      const { material: raw } = await makeMaterial(document, json, textures, toFit(geometry, false));
      kept.push(raw);
      try {
        const [damaged] = textures.faults;
        if (damaged) {
          throw new StudioProblem(
            'picture-map-unreadable',
            `A map of the finish (${describeTexture(document, damaged[0])}) cannot be shown: ${damaged[1]} Upload the map again, or another one.`,
          );
        }
        const flat = order.light === 'flat';
        const material = flat ? createFlatMaterial(raw) : raw;
        if (flat) kept.push(material);
        set.mesh.material = material;
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
        textures.dispose();
        for (const material of kept.splice(0, Math.max(0, kept.length - KEPT_MATERIALS))) material.dispose();
      }
    },
  };
}
