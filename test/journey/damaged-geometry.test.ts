import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { editGlb, makeGlb, readGlb } from '../support/glb.ts';
import { createIo } from '../support/gltf-io.ts';
import { createRandom } from '../support/random.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A real model (registry package @webxr-input-profiles/assets, MIT), compressed by the encoders of draco3dgltf and
// meshoptimizer, and damaged. DYEWORKS_FUZZ_GEOMETRY=200 runs hundreds.

const COUNT = Number(process.env.DYEWORKS_FUZZ_GEOMETRY ?? 6);
const GLB = { 'content-type': 'model/gltf-binary' };

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await service.call('PUT', '/api/finishes/RED', { name: 'Red', family: 'paint', colour: { hex: '#b3202a' } });
});
afterAll(() => service.close());

const COMPRESSIONS = { draco: KHRDracoMeshCompression, meshopt: EXTMeshoptCompression } as const;

async function compress(kind: keyof typeof COMPRESSIONS): Promise<Buffer> {
  const io = await createIo();
  const document = await io.readBinary(new Uint8Array(readRegistryModel('pico-4u/left.glb')));
  document.createExtension(COMPRESSIONS[kind] as typeof KHRDracoMeshCompression).setRequired(true);
  return Buffer.from(await io.writeBinary(document));
}

/** The place of the compressed bytes of the first primitive, or view, in the BIN chunk. */
function findCompressed(model: Uint8Array): { readonly from: number; readonly length: number } {
  const { json } = readGlb(model);
  const draco = json.meshes![0]!.primitives[0]!.extensions?.KHR_draco_mesh_compression?.bufferView;
  const view =
    typeof draco === 'number'
      ? json.bufferViews![draco]!
      : json.bufferViews!.map(({ extensions }) => extensions?.EXT_meshopt_compression).find(Boolean)!;
  const { byteOffset = 0, byteLength } = view as { byteOffset?: number; byteLength: number };
  return { from: byteOffset, length: byteLength };
}

/** Changes bytes of the BIN chunk. */
function change(model: Uint8Array, work: (bin: Buffer, range: { from: number; length: number }) => void): Buffer {
  const { json, bin } = readGlb(model);
  const copy = Buffer.from(bin);
  work(copy, findCompressed(model));
  return makeGlb(json, copy);
}

async function receive(code: string, model: Uint8Array) {
  await service.call('POST', '/api/products', { code, name: code });
  return service.call('PUT', `/api/products/${code}/model`, model, GLB);
}

it.each(['draco', 'meshopt'] as const)(
  'undecodable %s is refused with its place, and nothing is stored',
  async (kind) => {
    const model = await compress(kind);
    const code = `BROKEN-${kind}`;
    expect((await receive(code, model)).status).toBe(201);
    const broken = change(model, (bin, { from, length }) => bin.fill(0, from, from + length));
    const { status, body } = await receive(code, broken);
    expect({ status, code: body.code }).toEqual({ status: 422, code: 'geometry-undecodable' });
    expect(body.where).toMatch(kind === 'draco' ? /^\/meshes\/0\/primitives\/0$/ : /^\/bufferViews\/\d+$/);
    expect((await service.call('GET', `/api/products/${code}`)).body.model.revision).toBe(1);
  },
);

it('Draco with the wrong data in its view is refused', async () => {
  const model = editGlb(await compress('draco'), (json) => {
    const [primitive] = json.meshes![0]!.primitives;
    // the view of the image, or any that is not the primitive's own
    const own = primitive!.extensions!.KHR_draco_mesh_compression!.bufferView as number;
    const other = json.bufferViews!.findIndex((_, index) => index !== own);
    primitive!.extensions!.KHR_draco_mesh_compression!.bufferView = other;
  });
  const { status, body } = await receive('PLAIN', model);
  expect({ status, code: body.code }).toEqual({ status: 422, code: 'geometry-undecodable' });
});

it.each(['draco', 'meshopt'] as const)('%s with flipped bits is refused, or delivered and pictured', async (kind) => {
  const model = await compress(kind);
  const random = createRandom(kind.length);
  const faults: string[] = [];
  for (let i = 0; i < COUNT; i++) {
    const damaged = change(model, (bin, { from, length }) => {
      // the first bytes describe the rest
      const reach = random.pick([length, 64]);
      for (let n = 1 + random.whole(6); n > 0; n--) bin[from + random.whole(reach)]! ^= 1 << random.whole(8);
    });
    const code = `FLIP-${kind}-${i}`;
    const { status, body } = await receive(code, damaged);
    if (status === 422 && body.code === 'geometry-undecodable') continue;
    if (status !== 201) {
      faults.push(`${i}: ${status} ${body.code}`);
      continue;
    }
    const path = `/api/products/${code}`;
    const { slots } = (await service.call('GET', `${path}/slots`)).body;
    const choices = Object.fromEntries(slots.map(({ slot }: { slot: string }) => [slot, 'RED']));
    const variants = [{ code: 'V', name: 'All red', choices }];
    await service.call('PUT', `${path}/schedule`, { default: 'V', variants });
    const delivered = await service.call('POST', `${path}/deliveries`, {});
    const picture = await service.call('GET', `${path}/pictures/V.png?size=64`);
    for (const answer of [delivered, picture]) {
      if (answer.status >= 500 || (answer.status >= 400 && !answer.body.code)) {
        faults.push(`${i}: ${answer.status} ${JSON.stringify(answer.body).slice(0, 200)}`);
      }
    }
  }
  expect(faults).toEqual([]);
});
