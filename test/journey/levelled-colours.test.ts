import { converter, differenceCiede2000, parse } from 'culori';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Finding } from '../../server/core/product/finding.ts';
import { createDocument } from '../support/build-model.ts';
import { CLOTH_PX, makeClothMaps } from '../support/cloth-maps.ts';
import { type Glb, readGlb, readImage } from '../support/glb.ts';
import { createIo } from '../support/gltf-io.ts';
import { addSolid, makeGrid } from '../support/make-solid.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A finish with a colour map has its specified colour as the mean: of the file, in the texts about it, and of the
// pixels. Independent of the project: sharp decodes images, colours and CIEDE2000 are culori's, and a texel shows
// factor × texel in linear light (glTF 2.0 §3.9.2).

const toLinear = converter('lrgb');
const distance = differenceCiede2000();
type Colour = Parameters<typeof distance>[0];

const DECODED = Float64Array.from({ length: 256 }, (_, code) => {
  const value = code / 255;
  return toLinear({ mode: 'rgb', r: value, g: value, b: value }).r!;
});

/** Twelve specifications, from near black to near white; Lab is D65/2°. */
const COLOURS: readonly (readonly [code: string, given: object, colour: Colour])[] = [
  hex('INK', '#1b1d22'),
  hex('NAVY', '#1c2f55'),
  hex('WINE', '#6d1f2e'),
  hex('TARN', '#2f5d73'),
  hex('MOSS', '#737a54'),
  hex('SLATE', '#8a8d8f'),
  hex('RUST', '#b5532a'),
  hex('SAND', '#cfbd9e'),
  hex('CHALK', '#ebe5d8'),
  hex('SNOW', '#f6f6f4'),
  lab('SAGE', [62, -6.8, 15.3]),
  lab('SKY', [78, -9, -16]),
];

function hex(code: string, value: string): (typeof COLOURS)[number] {
  return [code, { hex: value }, parse(value)];
}

function lab(code: string, value: readonly [number, number, number]): (typeof COLOURS)[number] {
  const [l, a, b] = value;
  return [code, { lab: value, illuminant: 'D65', observer: '2deg' }, { mode: 'lab65', l, a, b }];
}

const TILE = { widthMm: 40, heightMm: 40 };
const MAPS = ['dyed', 'holed', 'dark', 'deep'] as const;

let service: TestService;
let file: Glb;
// biome-ignore lint/suspicious/noExplicitAny: a manifest, read as a program outside would
let manifest: any;
const uploaded = new Map<string, string>();

beforeAll(async () => {
  service = await startService();
  const maps = await makeClothMaps();
  for (const name of MAPS) {
    const { status, body } = await service.call('POST', '/api/files', maps[name], { 'content-type': 'image/png' });
    expect(status).toBe(201);
    uploaded.set(name, body.sha256);
    for (const [code, colour] of COLOURS) {
      const finish = { name: `${code} ${name}`, family: 'textile', colour, maps: { colour: body.sha256 }, tile: TILE };
      expect((await service.call('PUT', `/api/finishes/${code}-${name}`, finish)).status).toBe(201);
    }
  }
  const document = createDocument();
  addSolid(
    document,
    'panel',
    makeGrid(1, 1, (u, v) => [u, v, 0]),
    document.createMaterial('panel'),
  );
  const model = await (await createIo()).writeBinary(document);
  await service.call('POST', '/api/products', { code: 'P', name: 'Panel' });
  expect(
    (await service.call('PUT', '/api/products/P/model', model, { 'content-type': 'model/gltf-binary' })).status,
  ).toBe(201);
  const variants = COLOURS.flatMap(([code]) =>
    MAPS.map((name) => ({
      code: `${code}-${name}`,
      name: `In ${code} ${name}`,
      choices: { panel: `${code}-${name}` },
    })),
  );
  await service.call('PUT', '/api/products/P/schedule', { default: variants[0]!.code, variants });
  const { status, body } = await service.call('POST', '/api/products/P/deliveries', {});
  expect(status, JSON.stringify(body)).toBe(201);
  file = readGlb((await service.call('GET', '/api/products/P/deliveries/1/model.glb')).body);
  manifest = (await service.call('GET', '/api/products/P/deliveries/1/manifest.json')).body;
});
afterAll(() => service.close());

describe.each(MAPS)('the %s map', (name) => {
  it.each(COLOURS)(
    'in %s has the specified mean in the delivered file, or a finding with the distance',
    async (code, _, specified) => {
      const finish = `${code}-${name}`;
      const seen = await measureDelivered(finish);
      const off = distance(specified, seen);
      const { resolved } = (await service.call('GET', `/api/finishes/${finish}`)).body;
      const finding = resolved.findings.find((each: { code: string }) => each.code === 'pattern-off-colour');
      if (off > 1) {
        expect(finding, `ΔE00 ${off}`).toBeDefined();
        expect(Math.abs(finding.seen.deltaE - off)).toBeLessThan(0.1);
      }
      // consistent: the finish, the manifest and readiness describe the content of the file
      expect(Math.abs(resolved.delivered.deltaE - off)).toBeLessThan(0.1);
      const [l, a, b] = resolved.delivered.lab;
      expect(distance({ mode: 'lab65', l, a, b }, seen)).toBeLessThan(0.1);
      const listed = manifest.finishes.find((one: { finish: string }) => one.finish === finish);
      expect(listed.delivered).toEqual(resolved.delivered);
    },
  );

  it('is written at most once for each contrast its finishes need', () => {
    const images = new Set(COLOURS.map(([code]) => imageOf(`${code}-${name}`)));
    const contrasts = new Set<number | null>();
    for (const [code] of COLOURS) contrasts.add(levelOf(`${code}-${name}`));
    expect(images.size).toBe(contrasts.size);
  });
});

it('dark and middle colours are reached exactly with any map', async () => {
  for (const code of ['INK', 'NAVY', 'WINE', 'TARN', 'MOSS', 'SLATE', 'SAGE']) {
    for (const name of MAPS) {
      const specified = COLOURS.find(([known]) => known === code)![2];
      expect(distance(specified, await measureDelivered(`${code}-${name}`)), `${code} ${name}`).toBeLessThan(0.3);
    }
  }
});

it('readiness lists the findings of the finishes in the schedule', async () => {
  const { body } = await service.call('GET', '/api/products/P/readiness');
  const flattened = body.findings.filter((finding: { code: string }) => finding.code === 'pattern-flattened');
  expect(flattened.length).toBeGreaterThan(0);
  const places = flattened.flatMap((finding: Finding) => finding.places ?? [finding]);
  for (const { seen } of places) expect(seen.contrast).toBeLessThan(1);
});

it('a finish without a colour, or with white, has the mean of its map as its colour, everywhere', async () => {
  const maps = { colour: uploaded.get('dyed')! };
  const bare = { name: 'Bare', family: 'textile', maps, tile: TILE };
  expect((await service.call('PUT', '/api/finishes/BARE', bare)).status).toBe(201);
  expect(
    (await service.call('PUT', '/api/finishes/WHITE', { ...bare, name: 'White', colour: { hex: '#ffffff' } })).status,
  ).toBe(201);
  const seen = await meanOf((await makeClothMaps()).dyed);
  for (const code of ['BARE', 'WHITE']) {
    const { resolved } = (await service.call('GET', `/api/finishes/${code}`)).body;
    expect(resolved.colourFrom).toBe('map');
    expect(distance(parse(resolved.hex), seen)).toBeLessThan(0.5);
    expect(resolved.delivered.deltaE).toBe(0);
    expect(resolved.findings.map(({ code }: { code: string }) => code)).not.toContain('albedo-implausible');
  }
  // a search by that colour finds it, nearest first
  const [l, a, b] = (await service.call('GET', '/api/finishes/BARE')).body.resolved.delivered.lab;
  const { body } = await service.call('GET', `/api/finishes?near=${encodeURIComponent('#93693f')}&limit=60`);
  const found = body.finishes.find(({ finish }: { finish: string }) => finish === 'BARE');
  expect(Math.abs(found.deltaE - distance(parse('#93693f'), { mode: 'lab65', l, a, b }))).toBeLessThan(0.01);
  // the chip is that colour, flat
  const chip = (await service.call('GET', '/api/finishes/BARE/swatch.png?kind=chip&size=64')).body as Uint8Array;
  const [red, green, blue] = await sharp(chip).removeAlpha().raw().toBuffer();
  const colour = { mode: 'rgb', r: red! / 255, g: green! / 255, b: blue! / 255 };
  expect(distance(colour, seen)).toBeLessThan(0.5);
});

it('colour and source must fit: no map as source without a map, and no specification without a colour', async () => {
  const put = async (finish: object) => {
    const { status, body } = await service.call('PUT', '/api/finishes/ODD', {
      name: 'Odd',
      family: 'paint',
      ...finish,
    });
    return [status, body.code];
  };
  expect(await put({})).toEqual([422, 'colour-incomplete']);
  expect(await put({ colourFrom: 'map', colour: { hex: '#2f5d73' } })).toEqual([422, 'colour-incomplete']);
  const maps = { colour: uploaded.get('dyed')! };
  expect(await put({ colourFrom: 'specification', maps })).toEqual([422, 'colour-incomplete']);
  expect((await put({ colourFrom: 'elsewhere', maps }))[0]).toBe(400);
});

it('an article keeps the colour map that its finishes take their colour from', async () => {
  const maps = { colour: uploaded.get('dyed')! };
  await service.call('PUT', '/api/articles/LOOM', { name: 'Loom', family: 'textile', maps, tile: TILE });
  const made = await service.call('PUT', '/api/finishes/LOOM-1', {
    name: 'Loom 1',
    family: 'textile',
    article: 'LOOM',
  });
  expect(made.status).toBe(201);
  const refused = await service.call('PUT', '/api/articles/LOOM', { name: 'Loom', family: 'textile' });
  expect([refused.status, refused.body.code]).toEqual([409, 'finish-in-use']);
});

const materialOf = (finish: string) => file.json.materials!.find(({ name }) => name === `panel/${finish}`)!;

function imageOf(finish: string): number {
  const { index } = materialOf(finish).pbrMetallicRoughness!.baseColorTexture!;
  return file.json.textures![index]!.source!;
}

function levelOf(finish: string): number | null {
  const listed = manifest.finishes.find((one: { finish: string }) => one.finish === finish);
  return listed.levelled?.contrast ?? null;
}

/** Area mean of factor × texel in the delivered file. */
async function measureDelivered(finish: string): Promise<Colour> {
  const factor = materialOf(finish).pbrMetallicRoughness!.baseColorFactor ?? [1, 1, 1, 1];
  for (const channel of factor) expect(channel).toBeLessThanOrEqual(1);
  const mean = (await meanOf(readImage(file, imageOf(finish))!)) as unknown as Record<'r' | 'g' | 'b', number>;
  return { mode: 'lrgb', r: factor[0]! * mean.r, g: factor[1]! * mean.g, b: factor[2]! * mean.b };
}

/** Mean of an image in linear light. Alpha is ignored, since the material is opaque (glTF 2.0 §3.9.4). */
async function meanOf(image: Uint8Array): Promise<Colour> {
  const { data, info } = await sharp(image).raw().toBuffer({ resolveWithObject: true });
  expect([info.width, info.height]).toEqual([CLOTH_PX, CLOTH_PX]);
  const sum = [0, 0, 0];
  for (let i = 0; i < data.length; i += info.channels) for (let c = 0; c < 3; c++) sum[c]! += DECODED[data[i + c]!]!;
  const texels = data.length / info.channels;
  return { mode: 'lrgb', r: sum[0]! / texels, g: sum[1]! / texels, b: sum[2]! / texels };
}
