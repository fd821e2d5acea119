import type { MappingPlan, PlannedPrimitive } from '../../core/delivery/mapping-plan.ts';
import { DRACO, type GltfJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';

/**
 * Writes the plan onto the primitives: the default variant's material on the primitive itself, and the mappings of
 * `KHR_materials_variants`. Removes the source's mappings from every primitive, and vertex colours where the plan says so.
 * @param materials material index of every result of the plan
 * @param isSupplied whether a result shows a supplied material
 */
export function mapPrimitives(
  json: GltfJson,
  plan: MappingPlan,
  materials: readonly (number | null)[],
  isSupplied: (result: number) => boolean,
): void {
  for (const mesh of json.meshes ?? []) {
    for (const primitive of mesh.primitives) removeExtension(primitive, VARIANTS);
  }
  const written = new Map<unknown, Record<string, unknown>>();
  for (const planned of plan.primitives) {
    const primitive = json.meshes![planned.mesh]!.primitives[planned.primitive]!;
    const base = materials[planned.base] ?? null;
    if (base === null) delete primitive.material;
    else primitive.material = base;
    if (planned.dropColours && !keepsColours(planned, isSupplied)) dropColours(primitive);
    if (planned.mappings.length === 0) continue;
    // primitives of a slot share one list of mappings, so that hundreds of parts do not need hundreds of copies
    let extension = written.get(planned.mappings);
    if (!extension) {
      const mappings = planned.mappings.map(({ result, variants }) => ({ material: materials[result]!, variants }));
      extension = { mappings };
      written.set(planned.mappings, extension);
    }
    primitive.extensions = { ...primitive.extensions, [VARIANTS]: extension };
  }
}

/**
 * Vertex colours multiply every material of a part. Supplied materials were made for a model with its vertex colours, so a
 * part that shows one keeps them, although they tint its other finishes too.
 */
function keepsColours({ mappings }: PlannedPrimitive, isSupplied: (result: number) => boolean): boolean {
  return mappings.some(({ result }) => isSupplied(result));
}

/** Removes the vertex colours of a primitive. Their accessor stays, since other objects may use it. */
function dropColours(primitive: PrimitiveJson): void {
  const draco = primitive.extensions?.[DRACO]?.attributes as Record<string, number> | undefined;
  for (const attributes of [primitive.attributes, draco, ...(primitive.targets ?? [])]) {
    for (const name of Object.keys(attributes ?? {})) if (name.startsWith('COLOR_')) delete attributes![name];
  }
}

function removeExtension(primitive: PrimitiveJson, name: string): void {
  if (!primitive.extensions || !(name in primitive.extensions)) return;
  delete primitive.extensions[name];
  if (Object.keys(primitive.extensions).length === 0) delete primitive.extensions;
}
