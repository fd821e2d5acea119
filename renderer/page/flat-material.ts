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
