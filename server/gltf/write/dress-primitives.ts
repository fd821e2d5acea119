import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { DRACO, type GltfJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';

/**
 * Writes the plan onto the primitives: the default variant's material on the primitive itself, the mappings beside it.
 * Mappings the model arrived with go, on every primitive; vertex colours go where the plan says so.
 * @param materials material index of every result of the plan
 */
export function dressPrimitives(json: GltfJson, plan: MappingPlan, materials: readonly (number | null)[]): void {
  for (const mesh of json.meshes ?? []) {
    for (const primitive of mesh.primitives) removeExtension(primitive, VARIANTS);
  }
  const written = new Map<unknown, Record<string, unknown>>();
  for (const planned of plan.primitives) {
    const primitive = json.meshes![planned.mesh]!.primitives[planned.primitive]!;
    const base = materials[planned.base] ?? null;
    if (base === null) delete primitive.material;
    else primitive.material = base;
    if (planned.dropColours) dropColours(primitive);
    if (planned.mappings.length === 0) continue;
    // primitives of a slot share the plan's list, and what is written of it: hundreds of copies would only be thrown away
    let extension = written.get(planned.mappings);
    if (!extension) {
      const mappings = planned.mappings.map(({ result, variants }) => ({ material: materials[result]!, variants }));
      extension = { mappings };
      written.set(planned.mappings, extension);
    }
    primitive.extensions = { ...primitive.extensions, [VARIANTS]: extension };
  }
}

/** The accessor stays where it is; only the primitive no longer reads it. */
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
