import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import { COMPRESSED_FORMS, readCompressedForm } from '../../../../server/core/delivery/compressed-form.ts';
import { compressModel } from '../../../../server/gltf/compress/compress-model.ts';
import { findKtx2Fault } from '../../../../server/images/find-image-fault.ts';
import { editGlb, readGlb } from '../../../support/glb.ts';
import { measureInThree } from '../../../support/measure-in-three.ts';
import { openInBabylon } from '../../../support/open-in-babylon.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { createSplicer } from '../../../support/splice.ts';
import { makePanels } from '../../../support/textured-panels.ts';
import { listValidatorErrors } from '../../../support/validate.ts';

// Models: @webxr-input-profiles/assets 1.0.20 (MIT). Encoders: meshoptimizer, draco3dgltf, libwebp, Basis Universal; readers: the
// Khronos validator, three.js, Babylon.js and Basis's own transcoder.

const splicer = createSplicer();
const folder = await mkdtemp(join(tmpdir(), 'dyeworks-compress-'));
afterAll(async () => {
  await splicer.close();
  await rm(folder, { recursive: true, force: true });
});

async function compress(file: Uint8Array, name: string) {
  const [source, target] = [join(folder, 'source.glb'), join(folder, `${name}.glb`)];
  await writeFile(source, file);
  const made = await compressModel({ sourcePath: source, targetPath: target, form: readCompressedForm(name)! });
  return { ...made, file: new Uint8Array(await readFile(target)) };
}

const delivered = splicer.splice(readRegistryModel('oculus-touch/left.glb')).then(({ file }) => file);

it('has a name for each geometry, each texture, and each pair', () => {
  expect(COMPRESSED_FORMS).toContain('meshopt-ktx2');
  expect(readCompressedForm('draco-webp')).toEqual({ geometry: 'draco', textures: 'webp' });
  for (const odd of ['', 'webp-draco', 'meshopt-', 'meshopt-draco', 'MESHOPT'])
    expect(readCompressedForm(odd)).toBeNull();
});

describe.each(['quantised', 'meshopt', 'draco'])('%s', (form) => {
  it('is valid, smaller, and keeps names, variants and the meaning of indices', async () => {
    const file = await delivered;
    const made = await compress(file, form);
    expect(await listValidatorErrors(made.file)).toEqual([]);
    expect([made.bytes, made.file.length < file.length]).toEqual([made.file.length, true]);
    const [was, is] = [readGlb(file).json, readGlb(made.file).json];
    expect(is.materials).toEqual(was.materials);
    expect(is.extensions).toEqual(was.extensions);
    expect(is.textures).toEqual(was.textures);
    expect(is.nodes?.slice(0, was.nodes?.length).map(({ name }) => name)).toEqual(was.nodes?.map(({ name }) => name));
    expect(
      is.meshes?.flatMap(({ primitives }) => primitives.map(({ extensions }) => extensions?.KHR_materials_variants)),
    ).toEqual(
      was.meshes?.flatMap(({ primitives }) => primitives.map(({ extensions }) => extensions?.KHR_materials_variants)),
    );
  });

  it('states its loss', async () => {
    const { geometry } = (await compress(await delivered, form)).loss;
    // half a step of 16 bits over a hand-held controller; normals of 12 bits or more; a sixteenth of a texel of 1024 px
    expect(geometry!.positionMm).toBeGreaterThan(0);
    expect(geometry!.positionMm).toBeLessThan(0.01);
    expect(geometry!.normalDegrees).toBeLessThan(0.06);
    expect(geometry!.uv).toBeLessThan(1 / 16_384);
    expect(geometry!.vertices).toBeGreaterThan(8000);
  });
});

it.each(['quantised', 'meshopt'])('%s stands in three.js where the delivery stands', async (form) => {
  const file = await delivered;
  const made = await compress(file, form);
  const [was, is] = [await measureInThree(file), await measureInThree(made.file)];
  for (const end of ['min', 'max'] as const) {
    for (const [i, value] of was[end].entries()) {
      const movedMm = Math.abs(value - is[end][i]!) * 1000;
      expect(movedMm).toBeLessThanOrEqual(made.loss.geometry!.positionMm + 1e-4);
    }
  }
});

it.each(['quantised', 'meshopt', 'draco', 'webp'])('%s has the same variants and parts in Babylon.js', async (form) => {
  const file = await delivered;
  const [was, is] = [await openInBabylon(file), await openInBabylon((await compress(file, form)).file)];
  expect(is.variants).toEqual(was.variants);
  expect(is.countTriangles()).toBe(was.countTriangles());
  is.select(is.variants[1]!);
  was.select(was.variants[1]!);
  expect(is.list().map(({ material }) => material)).toEqual(was.list().map(({ material }) => material));
  was.close();
  is.close();
});

describe('textures', () => {
  let state = 1;
  const noise = Buffer.from(
    Array.from({ length: 64 * 64 * 3 }, () => 100 + (((state = (state * 1103515245 + 12345) & 0x7fffffff) >> 16) & 63)),
  );
  const panels = sharp(noise, { raw: { width: 64, height: 64, channels: 3 } })
    .png()
    .toBuffer()
    .then((bytes) => makePanels([0, 1, 2].map(() => ({ bytes, type: 'image/png' }))));

  it.each(['webp', 'ktx2'])('in %s are valid, and state what they lose', async (form) => {
    const made = await compress(await panels, form);
    expect(await listValidatorErrors(made.file)).toEqual([]);
    const { json } = readGlb(made.file);
    expect(json.extensionsRequired).toEqual([form === 'webp' ? 'EXT_texture_webp' : 'KHR_texture_basisu']);
    const find = (use: string) => made.loss.textures.find((texture) => texture.use === use);
    const [colour, normal] = [find('colour'), find('normal')];
    // noise without loss may be smaller as PNG; then it stays
    if (!normal) expect(made.loss.kept).toEqual([{ image: 1, reason: 'not-smaller' }]);
    expect(find('data')).toBeDefined();
    expect(colour!.deltaE!.mean).toBeGreaterThan(0);
    expect(colour!.deltaE!.percentile95).toBeGreaterThanOrEqual(colour!.deltaE!.mean);
    expect(normal?.psnrDb ?? 100).toBeGreaterThan(25);
    expect(made.loss.textures.reduce((sum, { bytes }) => sum + bytes, 0)).toBeLessThan(made.bytes);
  });

  it('in KTX2 go through the transcoder of Basis, level by level', async () => {
    const { json, bin } = readGlb((await compress(await panels, 'ktx2')).file);
    for (const { bufferView } of json.images!) {
      const { byteOffset = 0, byteLength } = json.bufferViews![bufferView!]!;
      expect(await findKtx2Fault(bin.subarray(byteOffset, byteOffset + byteLength))).toBeNull();
    }
  });
});

it('leaves geometry that an unknown extension may refer to, and says so', async () => {
  const odd = editGlb(await delivered, (json) => {
    json.extensionsUsed = [...(json.extensionsUsed ?? []), 'ODD_points'];
    json.extensions = { ...json.extensions, ODD_points: { bufferView: 0 } };
  });
  const made = await compress(odd, 'meshopt-webp');
  expect(made.loss.geometry).toBeNull();
  expect(made.loss.kept).toContainEqual({ image: null, reason: 'unknown-extension' });
  const [was, is] = [readGlb(odd).json, readGlb(made.file).json];
  expect(is.extensions).toEqual(was.extensions);
  expect(is.accessors).toEqual(was.accessors);
});
