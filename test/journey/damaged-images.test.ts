import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openDatabase } from '../../db/open-database.ts';
import type { Finding } from '../../server/core/product/finding.ts';
import { breakCrc, damageImage, makeWholeImages, type TestImage } from '../support/damage-images.ts';
import { type BrowserDecoder, openDecoder } from '../support/decode-in-browser.ts';
import { readGlb, readImage, texturesOf } from '../support/glb.ts';
import { createRandom } from '../support/random.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { makePanels } from '../support/textured-panels.ts';

// Damaged images; DYEWORKS_FUZZ_IMAGES=900 runs hundreds. A real browser has to decode every accepted image. Every
// other image is refused with a code or named by a finding. No answer is an internal error.

const COUNT = Number(process.env.DYEWORKS_FUZZ_IMAGES ?? 36);
const PANELS = 12;

let service: TestService;
let browser: BrowserDecoder;
beforeAll(async () => {
  [service, browser] = await Promise.all([startService(), openDecoder()]);
  for (const [code, hex] of [
    ['RED', '#b3202a'],
    ['BLUE', '#1f4e8c'],
  ] as const) {
    await service.call('PUT', `/api/finishes/${code}`, { name: code, family: 'paint', colour: { hex } });
  }
});
afterAll(() => Promise.all([service.close(), browser.close()]));

async function makeDamaged(count: number): Promise<TestImage[]> {
  const whole = await makeWholeImages();
  const random = createRandom(20);
  return Array.from({ length: count }, () => damageImage(random.pick(whole), random));
}

/** Viewers decode KTX2 with their own decoder, so the picture is the test for it. */
const isBrowsers = ({ type }: { readonly type: string }) => type !== 'image/ktx2';

it('undamaged images of every kind are accepted, and delivered unchanged', async () => {
  const whole = await makeWholeImages();
  expect(await browser.decode(whole.filter(isBrowsers))).not.toContain(false);
  for (const { name, type, bytes } of whole) {
    const { status } = await service.call('POST', '/api/files', bytes, { 'content-type': type });
    expect(status, name).toBe(201);
  }
  const { findings } = await receive('WHOLE', makePanels(whole));
  expect(findings.filter(({ code }) => code.startsWith('image-'))).toEqual([]);
});

it('as finish maps are refused with a code, or decoded by the browser', async () => {
  const faults: string[] = [];
  let taken = 0;
  for (const [i, image] of (await makeDamaged(COUNT)).entries()) {
    const { status, body } = await service.call('POST', '/api/files', image.bytes, { 'content-type': image.type });
    const what = `${i} ${image.name}: ${status} ${body.code ?? ''}`;
    if (status !== 201) {
      if (![413, 422].includes(status) || !body.code) faults.push(what);
      continue;
    }
    taken++;
    if (isBrowsers(image) && !(await browser.decode([image]))[0]) faults.push(`${what}, and the browser refuses it`);
    if (taken % 12 !== 1) continue;
    const finish = {
      name: `Map ${i}`,
      family: 'textile',
      colour: { hex: '#808080' },
      maps: { roughness: body.sha256 },
    };
    const tile = { widthMm: 100, heightMm: 100 };
    await service.call('PUT', `/api/finishes/MAP-${i}`, { ...finish, tile });
    const swatch = await service.call('GET', `/api/finishes/MAP-${i}/swatch.png?kind=sphere&size=64`);
    if (swatch.status !== 200) faults.push(`${what}, and its swatch answers ${swatch.status}`);
  }
  expect(faults).toEqual([]);
  expect(taken).toBeGreaterThan(0);
  expect(taken).toBeLessThan(COUNT);
});

it('as part textures are named by a finding; they are not delivered, and do not prevent a picture', async () => {
  const images = await makeDamaged(COUNT);
  const faults: string[] = [];
  for (let from = 0; from < images.length; from += PANELS) {
    const group = images.slice(from, from + PANELS);
    const code = `DAMAGED-${from}`;
    const received = await receive(code, makePanels(group));
    const what = `images ${from} to ${from + group.length - 1}: ${received.status} ${received.problem ?? ''}`;
    if (received.status !== 201) {
      // a header with more pixels than the limit
      if (received.problem !== 'image-too-large') faults.push(what);
      continue;
    }
    const named = new Set(listPlaces(received.findings, 'image-undecodable'));
    const decoded = await browser.decode(group);
    group.forEach((image, i) => {
      const unnamed = isBrowsers(image) && !decoded[i] && !named.has(`/images/${i}`);
      if (unnamed) faults.push(`${from + i} ${image.name} is decoded by nobody, and no finding says so`);
    });
    for (const fault of await deliverAndPicture(code)) faults.push(`${what}: ${fault}`);
  }
  expect(faults).toEqual([]);
});

it('stored before the service decoded images on arrival prevent a delivery and a picture, and nothing else', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-damaged-'));
  const [png] = await makeWholeImages();
  const before = await startService({}, folder);
  const { sha256 } = (await before.call('POST', '/api/files', png!.bytes, { 'content-type': png!.type })).body;
  const finish = { name: 'Cloth', family: 'textile', colour: { hex: '#808080' }, maps: { normal: sha256 } };
  await before.call('PUT', '/api/finishes/CLOTH', { ...finish, tile: { widthMm: 100, heightMm: 100 } });
  await before.call('POST', '/api/products', { code: 'SEAT', name: 'Seat' });
  const type = { 'content-type': 'model/gltf-binary' };
  const { slots } = (await before.call('PUT', '/api/products/SEAT/model', makePanels([png!]), type)).body;
  const variants = [{ code: 'V', name: 'In cloth', choices: { [slots[0].slot]: 'CLOTH' } }];
  await before.call('PUT', '/api/products/SEAT/schedule', { default: 'V', variants });
  await before.close();
  // as an older version left it: the bytes, without measurements
  await writeFile(join(folder, 'files', sha256.slice(0, 2), sha256), breakCrc(png!.bytes, 'IDAT'));
  const db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  await db.deleteFrom('map_facts').execute();
  await db.destroy();

  const after = await startService({}, folder);
  try {
    const refused = await after.call('POST', '/api/products/SEAT/deliveries', {});
    expect({ status: refused.status, code: refused.body.code }).toEqual({ status: 409, code: 'delivery-blocked' });
    expect(refused.body.findings).toMatchObject([
      { code: 'image-undecodable', severity: 'error', where: 'finish CLOTH', place: 'maps.normal' },
    ]);
    for (const path of ['/api/finishes/CLOTH/swatch.png?kind=sphere', '/api/products/SEAT/pictures/V.png?size=64']) {
      const { status, body } = await after.call('GET', path);
      expect({ path, status, code: body.code }).toEqual({ path, status: 422, code: 'image-unreadable' });
    }
    for (const path of ['/api/products', '/api/products/SEAT/readiness', '/api/finishes', `/api/files/${sha256}`]) {
      expect((await after.call('GET', path)).status, path).toBe(200);
    }
  } finally {
    await after.close();
    await rm(folder, { recursive: true, force: true });
  }
});

/** Every place of the findings with a code. */
const listPlaces = (findings: readonly Finding[], code: string) =>
  findings
    .filter((finding) => finding.code === code)
    .flatMap(({ where, places = [{ where, message: '' }] }) => places.map((place) => place.where));

interface Received {
  readonly status: number;
  readonly problem?: string;
  readonly findings: readonly Finding[];
}

async function receive(code: string, model: Buffer): Promise<Received> {
  await service.call('POST', '/api/products', { code, name: code });
  const type = { 'content-type': 'model/gltf-binary' };
  const { status, body } = await service.call('PUT', `/api/products/${code}/model`, model, type);
  return { status, problem: body.code, findings: body.findings ?? [] };
}

/** Gives every second part a finish and leaves the others; returns the faults of the result. */
async function deliverAndPicture(code: string): Promise<string[]> {
  const path = `/api/products/${code}`;
  const { slots } = (await service.call('GET', `${path}/slots`)).body;
  for (const [i, { slot }] of slots.entries()) {
    if (i % 2 === 1) await service.call('PATCH', `${path}/slots/${slot}`, { fixed: true });
  }
  const choose = (finish: string) =>
    Object.fromEntries(
      slots.filter((_: unknown, i: number) => i % 2 === 0).map(({ slot }: { slot: string }) => [slot, finish]),
    );
  const variants = ['RED', 'BLUE'].map((finish) => ({ code: finish, name: `All ${finish}`, choices: choose(finish) }));
  await service.call('PUT', `${path}/schedule`, { default: 'RED', variants });
  const delivered = await service.call('POST', `${path}/deliveries`, {});
  if (delivered.status !== 201) return [`the delivery answers ${delivered.status} ${delivered.body.code}`];
  const file = await service.call('GET', `${path}/deliveries/${delivered.body.delivery}/model.glb`);
  const faults = await listRefused(file.body);
  const picture = await service.call('GET', `${path}/pictures/BLUE.png?size=64`);
  if (picture.status !== 200) faults.push(`the picture answers ${picture.status} ${picture.body.code}`);
  return faults;
}

/** Images that a material of a file shows and the browser cannot decode. */
async function listRefused(bytes: Uint8Array): Promise<string[]> {
  const glb = readGlb(bytes);
  const textures = new Set((glb.json.materials ?? []).flatMap(texturesOf));
  const sources = [...textures].flatMap((texture) => glb.json.textures![texture]!.source ?? []);
  const images = sources.map((image) => ({ bytes: readImage(glb, image)!, type: glb.json.images![image]!.mimeType! }));
  const decoded = await browser.decode(images);
  return sources.flatMap((image, i) => (decoded[i] ? [] : [`image ${image} is delivered, and the browser refuses it`]));
}
