import type { GltfJson, PrimitiveJson } from '../../document/json.ts';
import { VARIANTS } from '../../document/json.ts';

/** Animation pointers that drive a length (`KHR_animation_pointer`); thickness depends on its material. */
const DRIVES_LENGTH =
  /^\/nodes\/\d+\/translation$|\/attenuationDistance$|\/lights\/\d+\/range$|^\/cameras\/\d+\/.+\/(znear|zfar|xmag|ymag)$/;
const DRIVES_THICKNESS = /^\/materials\/(\d+)\/extensions\/KHR_materials_volume\/thicknessFactor$/;

/** Real files leave out properties that the standard requires. */
type Channel = NonNullable<NonNullable<GltfJson['animations']>[number]['channels']>[number];

/** @param thick materials whose thickness is scaled */
export function drivesLength({ target }: Channel, thick: ReadonlySet<number>): boolean {
  if (target?.path === 'translation') return true;
  const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
  if (typeof pointer !== 'string') return false;
  const thickness = DRIVES_THICKNESS.exec(pointer);
  return thickness ? thick.has(Number(thickness[1])) : DRIVES_LENGTH.test(pointer);
}

/**
 * Multiplies the lengths that a document states outside of geometry: volumes, ranges of lights, planes and sizes of cameras.
 * Thickness is in the space of the mesh, so it changes only on materials of meshes that are scaled.
 */
export function scaleLengths(json: GltfJson, factor: number, thick: ReadonlySet<number>): void {
  const scale = (holder: unknown, key: string) => {
    const object = holder as Record<string, unknown> | null | undefined;
    if (typeof object?.[key] === 'number') object[key] = (object[key] as number) * factor;
  };
  json.materials?.forEach(({ extensions }, index) => {
    if (thick.has(index)) scale(extensions?.KHR_materials_volume, 'thicknessFactor');
    scale(extensions?.KHR_materials_volume, 'attenuationDistance');
  });
  const lights = json.extensions?.KHR_lights_punctual?.lights;
  if (Array.isArray(lights)) for (const light of lights) scale(light, 'range');
  for (const camera of (json.cameras ?? []) as Record<string, unknown>[]) {
    for (const key of ['znear', 'zfar', 'xmag', 'ymag']) {
      scale(camera.perspective, key);
      scale(camera.orthographic, key);
    }
  }
}

/** Materials of primitives, in all variants. */
export function listMaterialsOf(primitives: readonly PrimitiveJson[]): Set<number> {
  const found = new Set<number>();
  for (const { material, extensions } of primitives) {
    if (material !== undefined) found.add(material);
    const mappings = extensions?.[VARIANTS]?.mappings;
    if (!Array.isArray(mappings)) continue;
    for (const mapping of mappings) if (typeof mapping?.material === 'number') found.add(mapping.material);
  }
  return found;
}
