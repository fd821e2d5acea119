import { DoubleSide, type Material, type MeshStandardMaterial } from 'three';
import type { SwatchShot } from '../../server/core/ports/renderer.ts';
import { STUDIO_PROBLEMS } from '../../server/core/texts/problems/picture.ts';
import { createCutting } from './cutting.ts';
import type { Decoders } from './decoders.ts';
import { createFlatMaterial } from './flat-material.ts';
import { describeTexture, fetchDocument } from './gltf-document.ts';
import { makeMaterial, toFit } from './make-material.ts';
import { createPanel } from './panel.ts';
import { createSphere } from './sphere.ts';
import { StudioProblem } from './studio-problem.ts';
import type { StudioScene } from './studio-scene.ts';
import type { SwatchShape } from './swatch-shape.ts';
import { createTextureStore } from './texture-store.ts';

/** A swatch shot with the URL of its material. */
export interface SwatchOrder extends Omit<SwatchShot, 'key' | 'kit'> {
  readonly url: string;
}

/**
 * Materials kept after their shot, without their maps. A program lives as long as a material that uses it, and a new
 * one costs fifty milliseconds in software. Finishes of a range need a handful of programs.
 */
const KEPT_MATERIALS = 24;

/** Takes swatches. It keeps shapes, targets and programs; only the finish changes. */
export function createSwatchStudio(
  studio: StudioScene,
  decoders: Decoders,
): { take(order: SwatchOrder): Promise<Uint8Array> } {
  const shapes: Partial<Record<SwatchShot['kind'], SwatchShape>> = {};
  const create = { sphere: createSphere, panel: createPanel, cutting: createCutting };
  const kept: Material[] = [];
  return {
    async take(order) {
      shapes[order.kind] ??= create[order.kind](studio);
      const shape = shapes[order.kind]!;
      const document = await fetchDocument(order.url);
      const [json] = document.list('materials');
      if (!json) throw new StudioProblem('renderer-failed', STUDIO_PROBLEMS['renderer-failed'].emptyKit);
      const textures = createTextureStore(document, decoders.images);
      const { geometry } = shape.mesh;
      const { material: raw } = await makeMaterial(document, json, textures, toFit(geometry, false));
      kept.push(raw);
      try {
        const [damaged] = textures.faults;
        if (damaged) {
          throw new StudioProblem(
            'picture-map-unreadable',
            STUDIO_PROBLEMS['picture-map-unreadable'](describeTexture(document, damaged[0]), damaged[1]),
          );
        }
        const flat = order.light === 'flat';
        const material = flat ? createFlatMaterial(raw) : raw;
        if (flat) kept.push(material);
        shape.mesh.material = material;
        if (shape.twoSided) material.side = DoubleSide;
        studio.prepare(material, shape.open);
        studio.setSize(order.sizePx, order.sizePx);
        const metal = (raw as Partial<MeshStandardMaterial>).metalness === 1;
        shape.pose({ sizePx: order.sizePx, widthMm: order.widthMm ?? 0, flat, metal });
        const subsamples = shape.getSubsamples(order.sizePx);
        for (let index = 0; index < subsamples; index++) {
          if (!shape.open && !flat) studio.light.use(index);
          studio.addSubsample(index);
        }
        const rgba = studio.accumulator.read(order.ground);
        shape.finish?.(rgba);
        return rgba;
      } finally {
        studio.show([]);
        textures.dispose();
        for (const material of kept.splice(0, Math.max(0, kept.length - KEPT_MATERIALS))) material.dispose();
      }
    },
  };
}
