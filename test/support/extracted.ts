import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect } from 'vitest';
import type { ExtractRequest, PartedFile } from '../../server/core/ports/models.ts';
import { lendModels } from './engines.ts';
import {
  type Glb,
  listReadRanges,
  materialsByVariant,
  readGlb,
  readImage,
  sha256,
  texturesOf,
  variantNames,
} from './glb.ts';
import { listValidatorErrors } from './validate.ts';

/** The bytes of a file in parts, joined by the tests' own reading. */
export async function joinParts({ head, path, ranges, padding, bytes }: PartedFile): Promise<Buffer> {
  const source = await readFile(path);
  const parts = ranges.map(({ start, end }) => source.subarray(start, end));
  const file = Buffer.concat([head, ...parts, Buffer.alloc(padding)]);
  expect(file.length).toBe(bytes);
  return file;
}

/** Extracts variants of a delivered file, as the service does. */
export async function extract(
  delivered: Uint8Array,
  request: Omit<ExtractRequest, 'path' | 'digest'>,
): Promise<Buffer> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-extract-'));
  try {
    const path = join(folder, 'delivered.glb');
    await writeFile(path, delivered);
    const parts = await lendModels().extract({ ...request, path, digest: 'sha256' });
    const file = await joinParts(parts);
    expect(parts.digest).toBe(sha256(file));
    const crc = await lendModels().extract({ ...request, path, digest: 'crc32' });
    await writeFile(path, file);
    expect(await lendModels().checksum(path)).toBe(crc.digest);
    return file;
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/**
 * Checks a file with some variants of a delivered one: geometry and scene unchanged, the same looks on every primitive, only what is
 * used, extensions declared as they are used, and no new error of the validator.
 */
export async function expectExtracted(
  delivered: Uint8Array,
  file: Uint8Array,
  { variants, first, withExtension }: Omit<ExtractRequest, 'path' | 'digest'>,
): Promise<void> {
  const [before, after] = [readGlb(delivered), readGlb(file)];
  const read = (glb: Glb) =>
    listReadRanges(glb).map(({ what, buffer, sha256, offset }) => [
      what.replace(/view \d+/, 'view'),
      buffer,
      sha256,
      offset % 4,
    ]);
  expect(read(after)).toEqual(read(before));
  for (const key of ['nodes', 'scenes', 'scene', 'skins', 'cameras', 'asset'] as const)
    expect(after.json[key], key).toEqual(before.json[key]);
  expect(after.json.accessors?.length).toBe(before.json.accessors?.length);
  expect(variantNames(after)).toEqual(withExtension ? variants.map((variant) => variantNames(before)[variant]) : []);

  const used = new Set<number>();
  before.json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const now = after.json.meshes![m]!.primitives[p]!;
      expect(now.attributes).toEqual(primitive.attributes);
      const looks = materialsByVariant(before, m, p);
      expect(describeLook(after, now.material)).toEqual(describeLook(before, looks[first]));
      if (now.material !== undefined) used.add(now.material);
      if (!withExtension) {
        expect(now.extensions ?? {}).not.toHaveProperty('KHR_materials_variants');
        return;
      }
      const kept = materialsByVariant(after, m, p);
      for (const material of kept) if (material !== undefined) used.add(material);
      expect(kept.map((material) => describeLook(after, material))).toEqual(
        variants.map((variant) => describeLook(before, looks[variant])),
      );
    });
  });
  const pointers = JSON.stringify(after.json.animations ?? []).includes('KHR_animation_pointer');
  const unknown = (before.json.extensionsUsed ?? []).some((name) => !/^(KHR|EXT)_/.test(name));
  if (!pointers && !unknown) {
    expect(used.size).toBe(after.json.materials?.length ?? 0);
    const textures = new Set([...used].flatMap((index) => texturesOf(after.json.materials![index])));
    expect(textures.size).toBe(after.json.textures?.length ?? 0);
    const images = new Set(
      (after.json.textures ?? []).flatMap(({ source, extensions = {} }) => [
        ...(source === undefined ? [] : [source]),
        ...Object.values(extensions).flatMap((of) => (typeof of.source === 'number' ? [of.source] : [])),
      ]),
    );
    expect(images.size).toBe(after.json.images?.length ?? 0);
    const ofMaterials = (after.json.extensionsUsed ?? []).filter((name) => /^KHR_(materials|texture)_/.test(name));
    for (const name of ofMaterials)
      expect(JSON.stringify({ ...after.json, extensionsUsed: [], extensionsRequired: [] })).toContain(`"${name}"`);
  }
  for (const name of after.json.extensionsRequired ?? []) expect(after.json.extensionsUsed).toContain(name);
  expect(after.json.extensionsUsed?.includes('KHR_materials_variants') ?? false).toBe(withExtension);

  const codes = (errors: string[]) => [...new Set(errors.map((error) => error.split(' ')[0]))];
  const known = codes(await listValidatorErrors(delivered));
  expect(codes(await listValidatorErrors(file)).filter((code) => !known.includes(code))).toEqual([]);
}

/** A material with all that it refers to, instead of indices. */
function describeLook(glb: Glb, material: number | undefined): unknown {
  if (material === undefined) return null;
  return resolve(glb, glb.json.materials![material]!);
}

function resolve(glb: Glb, value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) return value.map((item) => resolve(glb, item));
  return Object.fromEntries(
    Object.entries(value).map(([key, child]) => {
      const index = (child as { index?: unknown } | null)?.index;
      if (!/texture$/i.test(key) || typeof index !== 'number') return [key, resolve(glb, child)];
      const { source, sampler, extensions, ...texture } = glb.json.textures![index]!;
      const images = [source, ...Object.values(extensions ?? {}).map((of) => of.source as number)];
      return [
        key,
        {
          ...(child as object),
          index: {
            ...texture,
            sampler: sampler === undefined ? null : glb.json.samplers![sampler],
            images: images.map((image) =>
              image === undefined ? null : sha256(readImage(glb, image) ?? new Uint8Array()),
            ),
          },
        },
      ];
    }),
  );
}
