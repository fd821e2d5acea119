import type { Document, Material, Mesh, Primitive, Texture } from '@gltf-transform/core';
import {
  KHRMaterialsClearcoat,
  KHRMaterialsSheen,
  KHRMaterialsVariants,
  KHRTextureTransform,
  type Variant,
} from '@gltf-transform/extensions';
import { addPart, addTexture, createDocument, createSheet } from './build-model.ts';
import { createIo } from './gltf-io.ts';

/** Materials by name: the material of a primitive in every variant; null falls back to its own. */
export type Mapping = readonly (string | null)[];

interface VariantModel {
  readonly document: Document;
  readonly variants: readonly Variant[];
  readonly materials: Readonly<Record<string, Material>>;
  map(primitive: Primitive, mapping: Mapping): void;
  write(): Promise<Uint8Array>;
}

/** A document with variants of these names and five rich materials: two cloths, two woods, a label. */
async function createVariantModel(names: readonly string[]): Promise<VariantModel> {
  const document = createDocument();
  const extension = document.createExtension(KHRMaterialsVariants);
  const variants = names.map((name) => extension.createVariant(name));
  const materials = await createMaterials(document);
  return {
    document,
    variants,
    materials,
    map(primitive, mapping) {
      const list = extension.createMappingList();
      for (const name of new Set(mapping)) {
        if (name === null) continue;
        const entry = extension.createMapping().setMaterial(materials[name]!);
        mapping.forEach((other, at) => {
          if (other === name) entry.addVariant(variants[at]!);
        });
        list.addMapping(entry);
      }
      primitive.setExtension('KHR_materials_variants', list);
    },
    write: async () => (await createIo()).writeBinary(document),
  };
}

/**
 * A stool: its seat has another material in each of three variants, its legs fall back in one, its label never changes.
 */
export async function createStool(
  names: readonly string[] = ['Blue / oak', 'Rust / smoked', 'Rust / oak'],
): Promise<Uint8Array> {
  const model = await createVariantModel(names);
  const { document, materials } = model;
  const part = (name: string, material: string): Mesh =>
    addPart(document, { name, material: materials[material]!, cells: 3, size: 0.4, colours: name === 'seat' });
  model.map(part('seat', 'Cloth blue').listPrimitives()[0]!, ['Cloth blue', 'Cloth rust', 'Cloth rust']);
  model.map(part('legs', 'Oak').listPrimitives()[0]!, ['Oak', 'Smoked oak', null]);
  part('label', 'Label');
  return model.write();
}

/**
 * A bench whose two seats have one material and change differently; its foot has the same material and never changes.
 */
export async function createBench(): Promise<Uint8Array> {
  const model = await createVariantModel(['One', 'Two']);
  const { document, materials } = model;
  const oak = materials.Oak!;
  const left = addPart(document, { name: 'left', material: oak, cells: 3, size: 0.4 });
  model.map(left.listPrimitives()[0]!, ['Cloth blue', 'Cloth rust']);
  const right = createSheet(document, { name: 'right', material: oak, cells: 4, size: 0.4 });
  left.addPrimitive(right);
  model.map(right, ['Smoked oak', 'Cloth blue']);
  addPart(document, { name: 'foot', material: oak, cells: 5, size: 0.4 });
  return model.write();
}

async function createMaterials(document: Document): Promise<Record<string, Material>> {
  const [weave, seams, grain, print] = await Promise.all(
    ['weave', 'seams', 'grain', 'print'].map((name, at) => addTexture(document, name, at + 1)),
  );
  const blue = document
    .createMaterial('Cloth blue')
    .setBaseColorFactor([0.1, 0.2, 0.6, 1])
    .setMetallicFactor(0)
    .setBaseColorTexture(weave!)
    .setNormalTexture(seams!)
    .setNormalScale(0.7)
    .setDoubleSided(true)
    .setExtras({ mill: 'North', colourTexture: { index: 7 } });
  lay(document, blue, [12, 12]);
  const sheen = document.createExtension(KHRMaterialsSheen).createSheen();
  blue.setExtension('KHR_materials_sheen', sheen.setSheenColorFactor([0.3, 0.3, 0.5]).setSheenRoughnessFactor(0.4));
  // the same weave at another scale, and cut out: the material's own properties, which a part would otherwise pass on
  const rust = document
    .createMaterial('Cloth rust')
    .setBaseColorFactor([0.5, 0.1, 0.05, 0.9])
    .setMetallicFactor(0)
    .setBaseColorTexture(weave!)
    .setAlphaMode('MASK')
    .setAlphaCutoff(0.3);
  lay(document, rust, [7, 7], 0.5);
  return {
    'Cloth blue': blue,
    'Cloth rust': rust,
    Oak: createWood(document, 'Oak', grain!, 0.6),
    'Smoked oak': createWood(document, 'Smoked oak', grain!, 0.3),
    Label: document.createMaterial('Label').setBaseColorTexture(print!).setRoughnessFactor(0.5).setMetallicFactor(0),
  };
}

function createWood(document: Document, name: string, grain: Texture, roughness: number): Material {
  const material = document.createMaterial(name).setMetallicRoughnessTexture(grain).setRoughnessFactor(roughness);
  // glTF 2.0 §5.26: 33071 clamps to the edge, 9728 takes the nearest texel
  material.getMetallicRoughnessTextureInfo()!.setWrapS(33071).setMagFilter(9728);
  const clearcoat = document.createExtension(KHRMaterialsClearcoat).createClearcoat();
  return material
    .setMetallicFactor(0.1)
    .setExtension('KHR_materials_clearcoat', clearcoat.setClearcoatFactor(0.8).setClearcoatTexture(grain));
}

function lay(document: Document, material: Material, scale: [number, number], rotation = 0): void {
  const transform = document.createExtension(KHRTextureTransform).createTransform();
  material
    .getBaseColorTextureInfo()!
    .setExtension('KHR_texture_transform', transform.setScale(scale).setRotation(rotation));
}
