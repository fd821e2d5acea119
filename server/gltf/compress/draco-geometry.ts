import { DRACO, type GltfJson, type PrimitiveJson, TRIANGLES, TYPE_COMPONENTS } from '../document/json.ts';
import { type LoadedModel, readAccessor, readIndices } from '../document/read-accessor.ts';
import { isFloat, listAccessorUses } from './accessor-uses.ts';
import type { ViewEdit } from './view-edit.ts';

// biome-ignore lint/suspicious/noExplicitAny: the encoder comes without types
type Draco = any;

/** Bits of each kind of attribute: of a part of 1 m a step is 0.02 mm, of a normal 0.05°. */
const POSITION_BITS = 16;
const NORMAL_BITS = 12;
/** Steps of a texture coordinate in an image. */
const UV_STEPS = 8192;

/**
 * Compresses triangles with Draco (`KHR_draco_mesh_compression`). Vertices keep their order, so that shared accessors, morph
 * targets and other programs' indices keep their meaning. It costs some bytes against Draco's own order.
 * @returns the number of meshes with primitives that stay as they are
 */
export async function packDraco(edit: ViewEdit, source: LoadedModel): Promise<number> {
  const { json } = edit;
  const { default: draco3d } = await import('draco3dgltf');
  const draco: Draco = await (draco3d as Draco).createEncoderModule();
  const uses = listAccessorUses(json);
  const packed = new Map<string, ReturnType<typeof encode> | null>();
  let keptMeshes = 0;
  let any = false;
  const done = new Set<number>();
  const kept = new Set<number>();
  const changed: { primitive: PrimitiveJson; extension: Record<string, unknown> }[] = [];
  for (const { primitives } of json.meshes ?? []) {
    let isKept = false;
    for (const primitive of primitives) {
      const key = JSON.stringify([primitive.attributes, primitive.indices]);
      if (!packed.has(key))
        packed.set(key, canPack(json, primitive, uses) ? encode(draco, edit, source, primitive) : null);
      const made = packed.get(key)!;
      const all = [primitive.indices ?? -1, ...Object.values(primitive.attributes)];
      if (!made) {
        isKept = true;
        for (const index of all) kept.add(index);
        continue;
      }
      any = true;
      for (const name of Object.keys(made.attributes)) done.add(primitive.attributes[name]!);
      done.add(primitive.indices!);
      changed.push({ primitive, extension: { bufferView: made.view, attributes: made.attributes } });
    }
    if (isKept) keptMeshes++;
  }
  for (const { primitive, extension } of changed) {
    primitive.extensions = { ...primitive.extensions, [DRACO]: extension };
  }
  for (const index of done) {
    // another primitive or a target reads it plainly
    if (kept.has(index) || uses.get(index) === 'kept') continue;
    const accessor = json.accessors![index]!;
    delete accessor.bufferView;
    delete accessor.byteOffset;
    if (uses.get(index) !== 'indices') accessor.componentType = isFloat(json, index) ? 5126 : accessor.componentType;
    else if (accessor.componentType === 5121) accessor.componentType = 5123;
  }
  if (any) {
    for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
      if (!json[key]?.includes(DRACO)) json[key] = [...(json[key] ?? []), DRACO];
    }
  }
  return keptMeshes;
}

function canPack(json: GltfJson, primitive: PrimitiveJson, uses: ReadonlyMap<number, string>): boolean {
  const { attributes, indices, mode = TRIANGLES } = primitive;
  if (mode !== TRIANGLES || indices === undefined || attributes.POSITION === undefined) return false;
  if (uses.get(indices) !== 'indices' || json.accessors![indices]!.count < 3) return false;
  return isFloat(json, attributes.POSITION) && uses.get(attributes.POSITION) === 'position';
}

/** Attributes of floats; others stay as plain accessors of the same primitive. */
function encode(
  draco: Draco,
  edit: ViewEdit,
  source: LoadedModel,
  primitive: PrimitiveJson,
): { readonly view: number; readonly attributes: Record<string, number> } | null {
  const { json } = edit;
  const indices = readIndices(source, primitive.indices!);
  const positions = readAccessor(source, primitive.attributes.POSITION!);
  const vertices = positions ? positions.length / 3 : 0;
  if (!indices || !positions || indices.length % 3 !== 0 || indices.some((index) => index >= vertices)) return null;
  const builder = new draco.MeshBuilder();
  const mesh = new draco.Mesh();
  const encoder = new draco.ExpertEncoder(mesh);
  const out = new draco.DracoInt8Array();
  try {
    const attributes: Record<string, number> = {};
    for (const [name, index] of Object.entries(primitive.attributes)) {
      const values = isFloat(json, index) ? readAccessor(source, index) : null;
      const components = TYPE_COMPONENTS[json.accessors![index]!.type]!;
      if (!values || values.length !== vertices * components || !values.every(Number.isFinite)) {
        if (name === 'POSITION') return null;
        continue;
      }
      const [kind, bits] = describe(draco, name, values);
      const id = builder.AddFloatAttribute(mesh, kind, vertices, components, values);
      if (id < 0) return null;
      attributes[name] = id;
      if (bits !== null) encoder.SetAttributeQuantization(id, bits);
    }
    builder.AddFacesToMesh(mesh, indices.length / 3, indices);
    encoder.SetSpeedOptions(0, 5);
    encoder.SetEncodingMethod(draco.MESH_SEQUENTIAL_ENCODING);
    encoder.SetTrackEncodedProperties(true);
    const length = encoder.EncodeToDracoBuffer(false, out);
    if (length <= 0 || encoder.GetNumberOfEncodedPoints() !== vertices) return null;
    const bytes = new Uint8Array(length);
    for (let i = 0; i < length; i++) bytes[i] = out.GetValue(i);
    return { view: edit.addView(bytes), attributes };
  } finally {
    for (const object of [out, encoder, mesh, builder]) draco.destroy(object);
  }
}

function describe(draco: Draco, name: string, values: Float32Array): [kind: number, bits: number | null] {
  if (name === 'POSITION') return [draco.POSITION, POSITION_BITS];
  if (name === 'NORMAL') return [draco.NORMAL, NORMAL_BITS];
  if (name.startsWith('TEXCOORD_')) {
    let [low, high] = [Infinity, -Infinity];
    for (const value of values) [low, high] = [Math.min(low, value), Math.max(high, value)];
    const steps = Math.max(1, (high - low) * UV_STEPS);
    return [draco.TEX_COORD, Math.min(24, Math.max(10, Math.ceil(Math.log2(steps))))];
  }
  if (name.startsWith('COLOR_')) return [draco.COLOR, 10];
  // weights and tangents
  return [draco.GENERIC, 14];
}
