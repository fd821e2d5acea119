import { type Material, MeshBasicMaterial, type MeshStandardMaterial } from 'three';

/**
 * The same finish under even light from everywhere, without shine. It shows its base colour (a white furnace), factor ×
 * map, in linear light, encoded without a tone curve. Holes of the map stay; emission and transmission do not show.
 */
export function createFlatMaterial(material: Material): MeshBasicMaterial {
  const { color, map, side, alphaTest, transparent, opacity, vertexColors } = material as MeshStandardMaterial;
  return new MeshBasicMaterial({
    color: color.clone(),
    map,
    side,
    alphaTest,
    transparent,
    opacity,
    vertexColors,
    toneMapped: false,
  });
}

/** Flat materials of a view, each made once. They share the maps of their finishes, and are dropped before these are. */
export function createFlatMaterials() {
  const flat = new Map<Material, Material>();
  return {
    get(material: Material): Material {
      const known = flat.get(material) ?? createFlatMaterial(material);
      flat.set(material, known);
      return known;
    },
    drop(): void {
      for (const material of flat.values()) material.dispose();
      flat.clear();
    },
  };
}
