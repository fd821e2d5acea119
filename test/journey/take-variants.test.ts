import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addPart, createDocument } from '../support/build-model.ts';
import { editGlb, type Glb, materialsByVariant, readGlb, variantNames } from '../support/glb.ts';
import { createIo } from '../support/gltf-io.ts';
import { createBench, createStool } from '../support/model-with-variants.ts';
import { resolveMaterial } from '../support/resolve-material.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { listValidatorErrors } from '../support/validate.ts';

// KhronosGroup/glTF, extensions/2.0/Khronos/KHR_materials_variants/README.md defines the look of a variant: the mapped
// material, or the primitive's own where none is mapped. Validity: Khronos glTF validator.

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

let products = 0;

async function addProduct(model: Uint8Array, more: object = {}): Promise<string> {
  const code = `P${products++}`;
  expect((await service.call('POST', '/api/products', { code, name: code, ...more })).status).toBe(201);
  const put = await service.call('PUT', `/api/products/${code}/model`, model, { 'content-type': 'model/gltf-binary' });
  expect(put.status).toBe(201);
  return `/api/products/${code}`;
}

async function take(product: string, body: object = {}) {
  const answer = await service.call('POST', `${product}/model/take-variants`, body);
  expect(answer.status, JSON.stringify(answer.body)).toBe(201);
  return answer.body;
}

async function deliver(product: string): Promise<{ glb: Glb; bytes: Uint8Array }> {
  const answer = await service.call('POST', `${product}/deliveries`, {});
  expect(answer.status, JSON.stringify(answer.body)).toBe(201);
  const bytes = (await service.call('GET', answer.body.model)).body as Uint8Array;
  return { glb: readGlb(bytes), bytes };
}

/** The material of every primitive before a choice and in every variant. */
function listLooks(glb: Glb): unknown[] {
  return glb.json.meshes!.map((mesh, m) =>
    mesh.primitives.map(({ material, attributes }, p) => ({
      own: resolveMaterial(glb, material),
      byVariant: materialsByVariant(glb, m, p).map((index) => resolveMaterial(glb, index)),
      attributes: Object.keys(attributes).sort(),
    })),
  );
}

describe('a model with variants', () => {
  it('is imported and delivered again without loss', async () => {
    const model = await createStool();
    const product = await addProduct(model);
    const taken = await take(product);
    expect(taken.finishes).toEqual(['Cloth-blue', 'Cloth-rust', 'Oak', 'Smoked-oak']);
    expect(taken.variants.map(({ name }: { name: string }) => name)).toEqual([
      'Blue / oak',
      'Rust / smoked',
      'Rust / oak',
    ]);
    expect(taken).toMatchObject({ default: 'Blue-oak', revision: null, leftOut: 0 });
    expect(taken.slots.map(({ slot, fixed, options }: Record<string, unknown>) => ({ slot, fixed, options }))).toEqual([
      { slot: 'cloth-blue', fixed: false, options: { finishes: ['Cloth-blue', 'Cloth-rust'] } },
      { slot: 'oak', fixed: false, options: { finishes: ['Oak', 'Smoked-oak'] } },
      { slot: 'label', fixed: true, options: null },
    ]);

    const { glb, bytes } = await deliver(product);
    const source = readGlb(model);
    expect(variantNames(glb)).toEqual(variantNames(source));
    expect(listLooks(glb)).toEqual(listLooks(source));
    // each material and image once, as in the source: one material serves every slot that shows it
    expect(glb.json.materials!.length).toBe(source.json.materials!.length);
    expect(glb.json.images!.length).toBe(source.json.images!.length);
    expect(new Set(glb.json.extensionsUsed)).toEqual(new Set(source.json.extensionsUsed));
    expect(await listValidatorErrors(bytes)).toEqual([]);
  });

  it('describes its finishes by the properties of their materials', async () => {
    const { body } = await service.call('GET', '/api/finishes/Cloth-blue');
    expect(body).toMatchObject({ name: 'Cloth blue', family: 'textile', metal: false, roughness: 1 });
    expect(body.supplied.file).toMatch(/^[0-9a-f]{64}$/);
    expect((await service.call('GET', '/api/finishes/Oak')).body).toMatchObject({ family: 'plastic', metal: false });
  });

  it('can be edited: one choice changes, everything else stays', async () => {
    const model = await createStool();
    const product = await addProduct(model);
    await take(product);
    const { body: schedule } = await service.call('GET', `${product}/schedule`);
    const { findings: _, ...edited } = structuredClone(schedule);
    edited.variants[1].choices.oak = 'Oak';
    expect((await service.call('PUT', `${product}/schedule`, edited)).status).toBe(200);
    const { glb } = await deliver(product);
    const expected = listLooks(readGlb(model)) as { byVariant: unknown[] }[][];
    expected[1]![0]!.byVariant[1] = expected[1]![0]!.byVariant[0];
    expect(listLooks(glb)).toEqual(expected);
  });

  it('mixes with the library’s own finishes, which are made for the part', async () => {
    const model = await createStool();
    const product = await addProduct(model);
    await take(product);
    const lacquer = { name: 'Lacquer', family: 'paint', colour: { hex: '#b3202a' } };
    expect((await service.call('PUT', '/api/finishes/LACQUER', lacquer)).status).toBe(201);
    const options = { finishes: ['Cloth-blue', 'Cloth-rust', 'LACQUER'] };
    expect((await service.call('PATCH', `${product}/slots/cloth-blue`, { options })).status).toBe(200);
    const { body: schedule } = await service.call('GET', `${product}/schedule`);
    const { findings: _, ...edited } = structuredClone(schedule);
    edited.variants[2].choices['cloth-blue'] = 'LACQUER';
    expect((await service.call('PUT', `${product}/schedule`, edited)).status).toBe(200);
    const { glb, bytes } = await deliver(product);
    const looks = listLooks(glb) as { byVariant: { name: string }[] }[][];
    const before = listLooks(readGlb(model)) as { byVariant: { name: string }[] }[][];
    expect(looks[0]![0]!.byVariant.slice(0, 2)).toEqual(before[0]![0]!.byVariant.slice(0, 2));
    expect(looks[0]![0]!.byVariant[2]!.name).toBe('cloth-blue/LACQUER');
    expect(await listValidatorErrors(bytes)).toEqual([]);
  });

  it('gives finishes that can be stored again as read, and become ordinary ones without their material', async () => {
    const { body } = await service.call('GET', '/api/finishes/Smoked-oak');
    const { finish: _, revision, resolved: __, ...given } = body;
    const again = await service.call('PUT', '/api/finishes/Smoked-oak', given);
    expect(again).toMatchObject({ status: 200, body: { revision, supplied: given.supplied } });
    const stranger = await service.call('PUT', '/api/finishes/X', { ...given, supplied: { file: 'a'.repeat(64) } });
    expect(stranger).toMatchObject({ status: 422, body: { code: 'unknown-supplied' } });
    const { supplied, ...plain } = given;
    const made = await service.call('PUT', '/api/finishes/Smoked-oak', plain);
    expect(made).toMatchObject({ status: 200, body: { revision: revision + 1 } });
    expect(made.body.supplied).toBeUndefined();
    expect((await service.call('PUT', '/api/finishes/Smoked-oak', { ...plain, supplied })).status).toBe(200);
  });

  it('gives a live preview and swatches a file with the same materials', async () => {
    const model = await createStool();
    const product = await addProduct(model);
    await take(product);
    const { body: look } = await service.call('GET', `${product}/look`);
    const studio = readGlb((await service.call('GET', look.file)).body);
    const seat = look.parts.find(({ slot }: { slot: string }) => slot === 'cloth-blue');
    const source = readGlb(model);
    const rust = source.json.materials!.findIndex(({ name }) => name === 'Cloth rust');
    expect(resolveMaterial(studio, seat.materials['Cloth-rust'])).toEqual(resolveMaterial(source, rust));
  });
});

describe('names', () => {
  it('numbers empty and repeated names, and names materials without a name', async () => {
    const model = editGlb(await createStool(), (json) => {
      const variants = json.extensions!.KHR_materials_variants!.variants as { name: string }[];
      variants[0]!.name = '';
      variants[1]!.name = 'Rust';
      variants[2]!.name = 'rust';
      for (const material of json.materials!) if (material.name?.startsWith('Cloth')) delete material.name;
      for (const material of json.materials!) if (material.name === 'Smoked oak') material.name = 'Oak';
    });
    const product = await addProduct(model);
    const taken = await take(product);
    expect(taken.variants).toEqual([
      { code: 'Variant-1', name: 'Variant 1' },
      { code: 'Rust', name: 'Rust' },
      { code: 'rust-2', name: 'rust 2' },
    ]);
    const unnamed = readGlb(model).json.materials!.flatMap(({ name }, at) => (name === undefined ? [at] : []));
    expect(taken.finishes.slice(0, 2)).toEqual(unnamed.map((at) => `material-${at}`));
    // “Oak” exists already, from another model whose oak is the same to the byte; the second one is not
    expect(taken.finishes.slice(2)).toEqual(['Oak', 'Oak-2']);
    const { glb } = await deliver(product);
    expect(listLooks(glb)).toEqual(listLooks(readGlb(model)));
  });

  it('uses the finishes again when the model is imported a second time', async () => {
    const product = await addProduct(await createStool(['A', 'B', 'C']));
    const first = await take(product);
    const refused = await service.call('POST', `${product}/model/take-variants`, {});
    expect(refused).toMatchObject({ status: 409, body: { code: 'schedule-in-the-way', received: 3 } });
    const second = await take(product, { replace: true });
    expect(second).toEqual(first);
  });
});

describe('parts of one material that change differently', () => {
  it('get their own materials and slots, and keep their look', async () => {
    const model = await createBench();
    const product = await addProduct(model);
    const taken = await take(product);
    // no variant shows what the bench shows before a choice, so a row for it is added
    expect(taken.variants.map(({ name }: { name: string }) => name)).toEqual(['As supplied', 'One', 'Two']);
    expect(taken).toMatchObject({ default: 'As-supplied', revision: 2 });
    expect(
      taken.slots.map(({ slot, fixed, primitives }: Record<string, unknown>) => [slot, fixed, primitives]),
    ).toEqual([
      ['oak', true, 1],
      ['oak-2', false, 1],
      ['oak-3', false, 1],
    ]);
    const { glb, bytes } = await deliver(product);
    const looks = listLooks(glb) as { byVariant: unknown[] }[][];
    const expected = listLooks(readGlb(model)) as { own: unknown; byVariant: unknown[] }[][];
    for (const primitive of expected.flat()) primitive.byVariant.unshift(primitive.own);
    expect(looks).toEqual(expected);
    expect(await listValidatorErrors(bytes)).toEqual([]);
  });
});

describe('models that cannot be imported', () => {
  it('refuses a model without variants, and one whose variants change nothing', async () => {
    const document = createDocument();
    addPart(document, { name: 'part', material: document.createMaterial('Oak') });
    const plain = await addProduct(await (await createIo()).writeBinary(document));
    const before = (await service.call('GET', '/api/finishes')).body;
    const idle = await addProduct(
      editGlb(await createStool(), (json) => {
        for (const mesh of json.meshes!) for (const primitive of mesh.primitives) delete primitive.extensions;
      }),
    );
    for (const product of [plain, idle]) {
      const refused = await service.call('POST', `${product}/model/take-variants`, {});
      expect(refused).toMatchObject({ status: 409, body: { code: 'no-variants-to-take' } });
      expect((await service.call('GET', `${product}/slots`)).body.slots.some((s: { fixed: boolean }) => s.fixed)).toBe(
        false,
      );
    }
    expect((await service.call('GET', '/api/finishes')).body).toEqual(before);
  });

  it('says how many primitives with variants draw nothing', async () => {
    // glTF 2.0 §3.7.2.1: mode 1 draws lines, which never become a slot
    const model = editGlb(await createStool(), (json) => {
      json.meshes!.find(({ name }) => name === 'legs')!.primitives[0]!.mode = 1;
    });
    const taken = await take(await addProduct(model));
    expect(taken.leftOut).toBe(1);
    expect(taken.slots.map(({ slot }: { slot: string }) => slot)).toEqual(['cloth-blue', 'label']);
  });

  it('ignores broken mappings', async () => {
    const model = editGlb(await createStool(), (json) => {
      const [legs] = json.meshes!.find(({ name }) => name === 'legs')!.primitives;
      const mappings = legs!.extensions!.KHR_materials_variants!.mappings as { material: number; variants: number[] }[];
      mappings[0]!.material = 99;
      mappings[1]!.variants = [1, 70, -1];
    });
    const taken = await take(await addProduct(model));
    expect(taken.variants).toHaveLength(3);
  });
});

it('adds the finishes to the range of the product’s line, where it has one', async () => {
  const lines = { FULL: [{ finish: 'LACQUER', status: 'current' }], EMPTY: [] };
  for (const [line, range] of Object.entries(lines)) {
    expect((await service.call('PUT', `/api/lines/${line}`, { name: line, range })).status).toBe(201);
    const product = await addProduct(await createStool(), { line });
    await take(product);
    await deliver(product);
  }
  const range = async (line: string) =>
    (await service.call('GET', `/api/lines/${line}`)).body.range.map(({ finish }: { finish: string }) => finish);
  expect(await range('FULL')).toEqual(['LACQUER', 'Cloth-blue', 'Cloth-rust', 'Oak', 'Smoked-oak']);
  expect(await range('EMPTY')).toEqual([]);
});

it('lets a finish be recoloured under its maps, and imports the material again on request', async () => {
  const model = await createStool();
  const product = await addProduct(model);
  await take(product);
  const { body } = await service.call('GET', '/api/finishes/Cloth-rust');
  const { finish: _, revision: __, resolved: ___, ...given } = body;
  const recoloured = { ...given, colour: { hex: '#203040' } };
  expect((await service.call('PUT', '/api/finishes/Cloth-rust', recoloured)).status).toBe(200);
  const { glb, bytes } = await deliver(product);
  const shown = listLooks(glb) as { byVariant: { pbrMetallicRoughness: Record<string, unknown> }[] }[][];
  const before = listLooks(readGlb(model)) as typeof shown;
  const { baseColorFactor, ...rest } = shown[0]![0]!.byVariant[1]!.pbrMetallicRoughness;
  const { baseColorFactor: was, ...others } = before[0]![0]!.byVariant[1]!.pbrMetallicRoughness;
  expect(baseColorFactor).not.toEqual(was);
  expect(rest).toEqual(others);
  expect(shown[0]![0]!.byVariant[0]).toEqual(before[0]![0]!.byVariant[0]);
  expect(await listValidatorErrors(bytes)).toEqual([]);
  const again = await take(product, { replace: true });
  expect(again.finishes).toEqual(['Cloth-blue', 'Cloth-rust-2', 'Oak', 'Smoked-oak']);
  expect(listLooks((await deliver(product)).glb)).toEqual(listLooks(readGlb(model)));
  expect((await service.call('PUT', '/api/finishes/Cloth-rust', given)).status).toBe(200);
});
