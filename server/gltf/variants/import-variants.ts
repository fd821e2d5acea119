import { createHash } from 'node:crypto';
import type { ModelVariants, ReadVariantsRequest, VariantMaterial, VariantPart } from '../../core/ports/models.ts';
import { readWholeFile } from '../document/container.ts';
import { type GltfJson, listVariantNames, type PrimitiveJson, readName, VARIANTS } from '../document/json.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import { extractMaterial } from '../materials/supplied/material-glb.ts';
import { mendTextures } from '../mend/mend-textures.ts';
import { readModel } from '../mend/read-model.ts';
import { ModelEdit } from '../repair/edit/model-edit.ts';
import { writeEdit } from '../repair/edit/write-edit.ts';

/**
 * Reads the variants of a model: the materials each part shows, and every material of a part that varies as a GLB of its own.
 * Where parts of one material vary in different ways, it writes a model with more materials to `targetPath`.
 */
export async function importVariants({
  sourcePath,
  targetPath,
  images,
  primitives,
}: ReadVariantsRequest): Promise<ModelVariants> {
  const { json, bin } = await readModel(sourcePath);
  const file = readWholeFile(sourcePath);
  const edit = new ModelEdit(json, bin && file.subarray(bin.offset, bin.offset + bin.length));
  const variants = listVariantNames(json);
  const uses = readMaterialUse(json, variants.length, primitives);
  const shown = new Set(
    uses.flatMap(({ varies, own, byVariant }) => (varies ? [own, ...byVariant] : [])).filter((m) => m !== null),
  );
  // the materials are extracted from a copy, since the model itself keeps its unreadable images
  const mended = { ...edit.loaded, json: structuredClone(json) };
  mendTextures(mended.json, images);
  const materials = [...shown].sort((a, b) => a - b).map((index) => toSuppliedMaterial(mended, json, index));
  const mapped = countWithVariants(json, listAllPrimitives(json));
  const leftOut = mapped - countWithVariants(json, primitives);
  const { parts, copies } = splitMaterials(edit, uses);
  const split = copies > 0 ? await writeEdit(edit, targetPath) : null;
  return { variants, parts, materials, split, leftOut };
}

function toSuppliedMaterial(mended: LoadedModel, json: GltfJson, index: number): VariantMaterial {
  const bytes = extractMaterial(mended, index);
  const material = json.materials![index]!;
  return {
    index,
    name: readName(material.name),
    extensions: Object.keys(material.extensions ?? {}),
    bytes: new Uint8Array(bytes),
    sha256: createHash('sha256').update(bytes).digest('hex'),
  };
}

function listAllPrimitives({ meshes = [] }: GltfJson): PrimitivePlace[] {
  return meshes.flatMap(({ primitives }, mesh) => primitives.map((_, primitive) => ({ mesh, primitive })));
}

function countWithVariants(json: GltfJson, places: readonly PrimitivePlace[]): number {
  return places.filter(({ mesh, primitive }) => json.meshes?.[mesh]?.primitives[primitive]?.extensions?.[VARIANTS])
    .length;
}

/**
 * Gives parts that vary in different ways a material of their own, since a slot is all parts of one material. The original
 * stays with the parts that never vary, since it is what they show, or else with the first.
 */
function splitMaterials(edit: ModelEdit, uses: readonly MaterialUse[]): { parts: VariantPart[]; copies: number } {
  const byMaterial = new Map<number | null, MaterialUse[]>();
  for (const use of uses) {
    const same = byMaterial.get(use.own);
    if (same) same.push(use);
    else byMaterial.set(use.own, [use]);
  }
  const names = new Set((edit.json.materials ?? []).map(({ name }) => name));
  const parts: VariantPart[] = [];
  let copies = 0;
  const addPart = (material: number | null, { own, byVariant, varies }: MaterialUse) =>
    parts.push({ material, own, byVariant, varies });
  for (const [material, same] of byMaterial) {
    const keeper = same.find(({ varies }) => !varies) ?? same[0]!;
    for (const use of same) {
      if (use === keeper) {
        addPart(material, use);
        continue;
      }
      const source = material === null ? {} : structuredClone(edit.json.materials![material]!);
      const base = typeof source.name === 'string' && source.name !== '' ? source.name : 'part';
      let n = 2;
      while (names.has(`${base} ${n}`)) n++;
      names.add(`${base} ${n}`);
      const copy = edit.addMaterial({ ...source, name: `${base} ${n}` }, material);
      for (const { mesh, primitive } of use.primitives) edit.json.meshes![mesh]!.primitives[primitive]!.material = copy;
      addPart(copy, use);
      copies++;
    }
  }
  return { parts, copies };
}

/** Primitives that show the same material in every variant. Materials are indices; null is glTF's default material. */
interface MaterialUse {
  /** Shown before a variant is chosen. */
  readonly own: number | null;
  readonly byVariant: readonly (number | null)[];
  /** Some variant shows another material than `own`. */
  readonly varies: boolean;
  readonly primitives: readonly PrimitivePlace[];
}

interface PrimitivePlace {
  readonly mesh: number;
  readonly primitive: number;
}

type Growing = MaterialUse & { readonly primitives: PrimitivePlace[] };

/**
 * Groups primitives by the materials they show, in order of first appearance. In a variant without a mapping a primitive
 * shows its own material (`KHR_materials_variants`). Of two mappings for one variant, which the extension forbids, the first
 * counts. Mappings to variants or materials that do not exist are ignored.
 * @param variants how many variants the model has
 */
export function readMaterialUse(
  json: GltfJson,
  variants: number,
  primitives: readonly PrimitivePlace[],
): MaterialUse[] {
  const groups = new Map<string, Growing>();
  // hundreds of loose parts may have the same ten thousand variants, so equal mappings are read once
  const known = new Map<string, Growing>();
  for (const place of primitives) {
    const primitive = json.meshes?.[place.mesh]?.primitives[place.primitive];
    if (!primitive) continue;
    const written = JSON.stringify([primitive.material, primitive.extensions?.[VARIANTS]]);
    let group = known.get(written);
    if (!group) {
      const own = primitive.material ?? null;
      const byVariant = listByVariant(json, primitive, own, variants);
      const signature = [own, ...byVariant].join();
      const varies = byVariant.some((material) => material !== own);
      group = groups.get(signature) ?? { own, byVariant, varies, primitives: [] };
      groups.set(signature, group);
      known.set(written, group);
    }
    group.primitives.push(place);
  }
  return [...groups.values()];
}

function listByVariant(
  json: GltfJson,
  primitive: PrimitiveJson,
  own: number | null,
  variants: number,
): (number | null)[] {
  const byVariant = new Array<number | null | undefined>(variants).fill(undefined);
  const mappings = primitive.extensions?.[VARIANTS]?.mappings;
  for (const mapping of Array.isArray(mappings) ? mappings : []) {
    const { material, variants: listed } = (mapping ?? {}) as { material?: unknown; variants?: unknown };
    if (typeof material !== 'number' || !json.materials?.[material] || !Array.isArray(listed)) continue;
    for (const variant of listed) {
      if (Number.isInteger(variant) && variant >= 0 && variant < variants) byVariant[variant] ??= material;
    }
  }
  return byVariant.map((material) => (material === undefined ? own : material));
}
