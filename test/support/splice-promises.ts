import { expect } from 'vitest';
import { listReadRanges, materialsByVariant, readImage, sha256, texturesOf, variantNames } from './glb.ts';
import type { Spliced } from './splice.ts';

/**
 * Checks the promises of a splice on any model, by our own reading of the design: geometry stays unchanged and in
 * place, indices never shift, and the mappings follow KhronosGroup/glTF 77b44be,
 * extensions/2.0/Khronos/KHR_materials_variants/README.md and its schemas.
 */
export function expectSplicePromises(spliced: Spliced): void {
  expectBytesUnchanged(spliced);
  expectIndicesUnshifted(spliced);
  expectMappingsByTheRules(spliced);
  expectImagesOnce(spliced);
}

/** Every range that an accessor, meshopt or Draco reads: the same bytes, at an offset that is equal modulo four. */
function expectBytesUnchanged({ source, output }: Spliced): void {
  const before = listReadRanges(source);
  const after = listReadRanges(output);
  expect(after.map(({ what, sha256, buffer }) => [what, buffer, sha256])).toEqual(
    before.map(({ what, sha256, buffer }) => [what, buffer, sha256]),
  );
  expect(after.map(({ offset }) => offset % 4)).toEqual(before.map(({ offset }) => offset % 4));
}

const UNTOUCHED = ['accessors', 'nodes', 'scenes', 'scene', 'skins', 'animations', 'cameras'] as const;

function expectIndicesUnshifted({ source, output, plan }: Spliced): void {
  for (const key of UNTOUCHED) expect(output.json[key], key).toEqual(source.json[key]);
  expect(output.json.meshes?.length).toBe(source.json.meshes?.length);
  const planned = new Set(plan.primitives.map(({ mesh, primitive }) => `${mesh}/${primitive}`));
  const live = new Set(
    plan.results.flatMap((r) => (r.kind === 'source' && r.sourceMaterial !== null ? [r.sourceMaterial] : [])),
  );
  source.json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const after = output.json.meshes![m]!.primitives[p]!;
      expect(after.indices).toBe(primitive.indices);
      expect(after.mode).toBe(primitive.mode);
      expect(after.targets).toEqual(primitive.targets);
      for (const [name, accessor] of Object.entries(primitive.attributes)) {
        if (!name.startsWith('COLOR_')) expect(after.attributes[name], name).toBe(accessor);
      }
      if (planned.has(`${m}/${p}`)) return;
      expect(after.material).toBe(primitive.material);
      expect(after.attributes).toEqual(primitive.attributes);
      if (primitive.material !== undefined) live.add(primitive.material);
    });
  });
  for (const material of live) expectMaterialInPlace({ source, output }, material);
}

/** A material that is still shown keeps its index, and so do its textures and the pixels of their images. */
export function expectMaterialInPlace({ source, output }: Pick<Spliced, 'source' | 'output'>, material: number): void {
  expect(output.json.materials![material]).toEqual(source.json.materials![material]);
  for (const texture of texturesOf(source.json.materials![material])) {
    expect(output.json.textures![texture]).toEqual(source.json.textures![texture]);
    const image = source.json.textures![texture]!.source;
    if (image !== undefined) expect(digestOf({ source: output }, image)).toBe(digestOf({ source }, image));
  }
}

function digestOf({ source }: Pick<Spliced, 'source'>, image: number): string | null {
  const bytes = readImage(source, image);
  return bytes && sha256(bytes);
}

function expectMappingsByTheRules({ output, plan }: Spliced): void {
  const { json } = output;
  const names = variantNames(output);
  expect(names).toEqual(plan.variants);
  expect(new Set(names.map((name) => name.toLowerCase())).size).toBe(names.length);
  expect(json.extensionsUsed).toContain('KHR_materials_variants');
  expect(json.extensionsRequired ?? []).not.toContain('KHR_materials_variants');
  expect(new Set(json.extensionsUsed).size).toBe(json.extensionsUsed!.length);
  for (const name of json.extensionsRequired ?? []) expect(json.extensionsUsed).toContain(name);
  const planned = new Map(plan.primitives.map((item) => [`${item.mesh}/${item.primitive}`, item]));
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const mappings = primitive.extensions?.KHR_materials_variants?.mappings as
        | { material: number; variants: number[] }[]
        | undefined;
      const item = planned.get(`${m}/${p}`);
      if (!item) {
        expect(mappings).toBeUndefined();
        return;
      }
      const used = mappings!.flatMap(({ variants }) => variants);
      expect(used.sort((a, b) => a - b)).toEqual(names.map((_, i) => i));
      for (const { material, variants } of mappings!) {
        expect(variants.length).toBeGreaterThan(0);
        expect(json.materials![material]).toBeDefined();
      }
      // the default variant is row 0 here
      const materials = materialsByVariant(output, m, p);
      expect(primitive.material).toBe(materials[0]);
    });
  });
}

/** No image of a material has the bytes of another one, unless the source had them twice. */
function expectImagesOnce({ source, output }: Spliced): void {
  const given = (source.json.images ?? []).map((_, i) => digestOf({ source }, i));
  const repeated = given.filter((digest, i) => given.indexOf(digest) !== i);
  const { json } = output;
  const shown = new Set(
    (json.materials ?? []).flatMap(texturesOf).flatMap((texture) => {
      const { source: image, extensions } = json.textures![texture]!;
      const others = Object.values(extensions ?? {}).map((extension) => extension.source as number | undefined);
      return [image, ...others].filter((index): index is number => index !== undefined);
    }),
  );
  const digests = [...shown].map((image) => digestOf({ source: output }, image)).filter((d) => !repeated.includes(d));
  expect(new Set(digests).size).toBe(digests.length);
}
