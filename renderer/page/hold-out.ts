import {
  CustomBlending,
  DoubleSide,
  FrontSide,
  type Material,
  MeshBasicMaterial,
  OneMinusSrcAlphaFactor,
  type Side,
  ZeroFactor,
} from 'three';
import { keepDepthOf } from './occlusion-shader.ts';

/** Makes what parts wear while they are held out of a layer. */
export interface Holdouts {
  /** The holdout of a material: covers what it covers, and adds nothing. */
  of(material: Material): Material;
  /** Forgets those that read a product's maps. */
  drop(): void;
  dispose(): void;
}

/**
 * Holdouts write coverage alone: what is solid wipes what lies behind it, what is see-through leaves the share of it that
 * it would leave in the picture. Side, passes, alpha test with its map, and writing of depth are those of the material;
 * whether it is see-through too, so that it is drawn at the same point of the order.
 */
export function createHoldouts(): Holdouts {
  const made = new Map<string, Material>();
  // solid ones read no map and stay: a program lives as long as a material that uses it
  const plain = new Map<Side, Material>([FrontSide, DoubleSide].map((side) => [side, make({ side } as Material)]));

  return {
    of(material) {
      if (!hasHoles(material)) return plain.get(material.side) ?? remember(made, material);
      return remember(made, material);
    },
    drop() {
      for (const holdout of made.values()) holdout.dispose();
      made.clear();
    },
    dispose() {
      for (const holdout of [...made.values(), ...plain.values()]) holdout.dispose();
    },
  };
}

function hasHoles(material: Material): boolean {
  return material.transparent || material.alphaTest > 0;
}

function remember(made: Map<string, Material>, material: Material): Material {
  const { map } = material as MeshBasicMaterial;
  const key = [
    material.side,
    material.transparent,
    material.forceSinglePass,
    material.depthWrite,
    material.depthTest,
    ...(hasHoles(material) ? [map?.uuid, material.opacity, material.alphaTest, material.vertexColors] : []),
  ].join();
  let holdout = made.get(key);
  if (!holdout) {
    holdout = make(material);
    made.set(key, holdout);
  }
  return holdout;
}

function make(material: Partial<Material>): Material {
  const { side = FrontSide, transparent = false, depthWrite = true, depthTest = true } = material;
  const holdout = new MeshBasicMaterial({
    side,
    transparent,
    depthWrite,
    depthTest,
    color: 0x000000,
    toneMapped: false,
    blending: CustomBlending,
    blendSrc: ZeroFactor,
    blendDst: transparent ? OneMinusSrcAlphaFactor : ZeroFactor,
  });
  holdout.forceSinglePass = material.forceSinglePass ?? holdout.forceSinglePass;
  if (transparent || (material.alphaTest ?? 0) > 0) {
    holdout.map = (material as MeshBasicMaterial).map;
    holdout.opacity = material.opacity ?? 1;
    holdout.alphaTest = material.alphaTest ?? 0;
    holdout.vertexColors = material.vertexColors ?? false;
  }
  keepDepthOf(holdout);
  return holdout;
}
