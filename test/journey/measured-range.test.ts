import { Document, type Material, type Primitive, WebIO } from '@gltf-transform/core';
import {
  KHRMaterialsVariants,
  KHRTextureTransform,
  type MappingList,
  type Transform,
} from '@gltf-transform/extensions';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { deltaE2000, type Lab, xyzToLab } from '../../server/core/colour/lab.ts';
import { integrateSpectrum } from '../../server/core/colour/spectrum.ts';
import type { Spectrum } from '../../server/core/finish/finish.ts';
import { integrateGloss } from '../../server/core/gloss/gloss-integral.ts';
import { createIo } from '../support/gltf-io.ts';
import { addSolid, makeCube, makeGrid } from '../support/make-solid.ts';
import { createRandom } from '../support/random.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A complete range: a maker's measurement file of 200 finishes, half of them Lab under D65 for the 10° observer. It is
// imported, put on three products of one line at true scale and gloss, and sold only as the line's rules allow.
// Independent of the project: the true colours come from known reflectances through the CIE's tables (CIE 018:2019),
// sizes from the delivered geometry as @gltf-transform/core 4 reads it, gloss from the integral over ISO 2813's
// apertures.

const LINE = '/api/lines/quillmere';
const CLOTHS = 100;
const LACQUERS = 100;

interface Made {
  readonly code: string;
  readonly spectrum: Spectrum;
  /** Colour under D65 for the 2° observer, from the reflectance itself. */
  readonly truth: Lab;
}

const made = new Map<string, Made>();
let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});
afterAll(() => service.close());

it('the measurement file is previewed, then imported completely', async () => {
  const file = writeMeasurements();
  const send = (query: string) =>
    service.call('POST', `/api/finishes/import${query}`, file, { 'content-type': 'text/csv' });
  const before = (await service.call('GET', '/api/finishes')).body.finishes.length;
  const dry = await send('?dryRun=1');
  expect([dry.body.stored, dry.body.created.length, dry.body.refused]).toEqual([false, CLOTHS + LACQUERS, []]);
  expect((await service.call('GET', '/api/finishes')).body.finishes).toHaveLength(before);
  expect((await send('')).body).toMatchObject({ stored: true, refused: [] });
  expect((await service.call('GET', '/api/finishes')).body.finishes).toHaveLength(before + CLOTHS + LACQUERS);
});

it('every finish states its distance from its specification, and has that distance from the true colour', async () => {
  const { body } = await service.call('GET', '/api/finishes');
  const errors: number[] = [];
  for (const { finish, resolved } of body.finishes) {
    const known = made.get(finish);
    if (!known) continue;
    const codes = resolved.findings.map(({ code }: { code: string }) => code);
    const distance = deltaE2000(known.truth, resolved.lab.value);
    if (finish.startsWith('CLO')) {
      expect(codes, finish).toContain('colour-estimated');
      expect(resolved.estimated.worstDeltaE).toBeGreaterThan(0);
      errors.push(distance - resolved.outOfGamutDeltaE);
    } else {
      expect(codes, finish).not.toContain('colour-estimated');
      // written with two decimals; colours outside sRGB have a message
      expect(distance, finish).toBeLessThan(resolved.outOfGamutDeltaE + 0.1);
    }
  }
  expect(errors).toHaveLength(CLOTHS);
  errors.sort((a, b) => a - b);
  const { estimated } = (await service.call('GET', '/api/finishes/CLO-000')).body.resolved;
  expect(errors[CLOTHS / 2]).toBeLessThan(estimated.typicalDeltaE);
  expect(errors.at(-1)).toBeLessThan(estimated.worstDeltaE);
});

it('every swatch states its distance from the specification', async () => {
  for (const code of made.keys()) {
    const { status, body } = await service.call('GET', `/api/finishes/${code}/swatch.json?kind=chip&size=64`);
    expect(status, code).toBe(200);
    const measured = deltaE2000(body.specified.lab, body.measured.lab);
    // the answer rounds its Lab values and the distance
    expect(Math.abs(measured - body.deltaE), code).toBeLessThan(0.05);
  }
});

it('three products get the range from one line', async () => {
  await widenLine();
  await addBench();
  for (const [product, slot, code] of [
    ['QM-S45', 'seat', 'CLO-007'],
    ['QM-L46', 'base', 'LAC-007'],
    ['QM-B90', 'seat', 'CLO-007'],
    ['QM-B90', 'legs', 'LAC-007'],
  ] as const) {
    const { body } = await service.call('GET', `/api/products/${product}/slots`);
    const allowed = body.slots.find((each: { slot: string }) => each.slot === slot).allowed;
    expect(
      allowed.filter(({ finish }: { finish: string }) => made.has(finish)),
      `${product} ${slot}`,
    ).toHaveLength(100);
    expect(allowed.find(({ finish }: { finish: string }) => finish === code)).toMatchObject({ grade: 'B' });
  }
});

it('each is delivered at true scale and gloss', async () => {
  const rows: Record<string, Record<string, string>> = {
    'QM-S45': { seat: 'CLO-007', piping: 'CLO-007', legs: 'LAC-007', ring: 'MTL-820' },
    'QM-L46': { shade: 'CLO-007', base: 'LAC-007', stem: 'MTL-820', cord: 'RPW-518' },
    'QM-B90': { seat: 'CLO-007', legs: 'LAC-007' },
  };
  const { gloss } = (await service.call('GET', '/api/finishes/LAC-007')).body;
  for (const [product, choices] of Object.entries(rows)) {
    const file = await deliver(product, choices);
    const cloth = file.filter(({ material }) => hasMap(material) && shows(material, 'CLO-007'));
    expect(cloth.length, product).toBeGreaterThan(0);
    for (const { material, metresPerUv } of cloth) {
      const transform = material
        .getBaseColorTextureInfo()!
        .getExtension<Transform>(KHRTextureTransform.EXTENSION_NAME)!;
      // The linen's repeat is 80 mm square (server/demo/finishes.ts). The part's own UVs determine its area. U and V
      // have separate scales, and differ on the shade, whose UVs are a little longer than wide.
      const sides = transform.getScale().map((scale) => metresPerUv / scale / 0.08);
      expect(Math.abs(Math.sqrt(sides[0]! * sides[1]!) - 1), product).toBeLessThan(0.05);
      for (const side of sides) expect(Math.abs(side - 1), product).toBeLessThan(0.1);
    }
    const lacquer = file.filter(({ material }) => shows(material, 'LAC-007'));
    expect(lacquer.length, product).toBeGreaterThan(0);
    for (const { material } of lacquer) {
      const [red, green, blue] = material.getBaseColorFactor();
      const luminance = 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
      const read = integrateGloss({ roughness: material.getRoughnessFactor(), ior: 1.5, luminance }, 60);
      // at most half of the ±5 that the trade allows at 30 gloss units and below
      expect(Math.abs(read - gloss.gu60), product).toBeLessThan(2.5);
    }
  }
});

it('combinations that are not allowed are refused, with the reason', async () => {
  // a hide has piping of the same hide: a rule of the demo line
  const choices = { seat: 'HLT-410', piping: 'CLO-007', legs: 'LAC-007', ring: 'MTL-820' };
  const put = await putSchedule('QM-S45', { 'S45-X': choices });
  const [finding] = put.body.findings.filter(({ code }: { code: string }) => code === 'rule-broken');
  expect(finding.message).toMatch(/Seat.*leather.*Piping|Piping.*Seat/s);
  const delivery = await service.call('POST', '/api/products/QM-S45/deliveries', {});
  expect([delivery.status, delivery.body.code]).toEqual([409, 'delivery-blocked']);
  expect(delivery.body.findings.map(({ code }: { code: string }) => code)).toContain('rule-broken');
  const query = Object.entries(choices)
    .map(([slot, finish]) => `choice=${slot}:${finish}`)
    .join('&');
  const picture = await service.call('GET', `/api/products/QM-S45/picture.png?${query}`);
  expect([picture.status, picture.body.code]).toEqual([409, 'choice-forbidden']);
  expect(picture.body.detail).toContain('Piping');

  // a discontinued finish is named, with its replacement
  const stopped = await service.call('POST', `${LINE}/discontinue`, { finish: 'CLO-008', replacedBy: 'CLO-009' });
  expect(stopped.status).toBe(200);
  const old = await putSchedule('QM-B90', { 'B90-1': { seat: 'CLO-008', legs: 'LAC-007' } });
  expect(old.body.findings.map(({ code }: { code: string }) => code)).toContain('finish-discontinued');
  expect((await service.call('POST', '/api/products/QM-B90/deliveries', {})).status).toBe(409);
});

/**
 * Smooth reflectances like those of dyes and pigments: a constant, one or two soft steps, or a soft bump; from a seed.
 */
function makeSpectrum(random: ReturnType<typeof createRandom>): Spectrum {
  const low = 0.04 + 0.2 * random.next();
  const high = low + (0.85 - low) * random.next();
  const centre = 430 + 220 * random.next();
  const bump = random.next() < 0.4;
  // dyes reflect in bands of 100 nm and more at half height, and their steps span 50 nm and more: common practice
  const width = bump ? 60 + 40 * random.next() : 12 + 20 * random.next();
  const values = Array.from({ length: 36 }, (_, i) => {
    const t = (380 + 10 * i - centre) / width;
    const shape = bump ? Math.exp(-t * t) : 1 / (1 + Math.exp(-t));
    return Number((low + (high - low) * shape).toFixed(4));
  });
  return { startNm: 380, stepNm: 10, values };
}

/** CSV: cloths as Lab under D65 for 10°; lacquers half as Lab under D65 for 2°, half as reflectances, all with gloss. */
function writeMeasurements(): string {
  const random = createRandom(46);
  const nm = Array.from({ length: 36 }, (_, i) => `nm${380 + 10 * i}`);
  const header = ['code', 'name', 'family', 'article', 'tags', 'l', 'a', 'b', 'illuminant', 'observer', 'geometry'];
  const lines = [[...header, 'gu60', ...nm].join(',')];
  const labOf = (spectrum: Spectrum, observer: '2deg' | '10deg') =>
    xyzToLab(integrateSpectrum(spectrum, 'D65', observer), 'D65', observer);
  for (let i = 0; i < CLOTHS + LACQUERS; i++) {
    const cloth = i < CLOTHS;
    const number = String(i % CLOTHS).padStart(3, '0');
    const code = `${cloth ? 'CLO' : 'LAC'}-${number}`;
    const spectrum = makeSpectrum(random);
    made.set(code, { code, spectrum, truth: labOf(spectrum, '2deg') });
    const spectral = !cloth && i % 2 === 0;
    const lab = (cloth ? labOf(spectrum, '10deg') : labOf(spectrum, '2deg')).map((v) => v.toFixed(2));
    lines.push(
      [
        code,
        `${cloth ? 'Cloth' : 'Lacquer'} ${number}`,
        cloth ? 'textile' : 'paint',
        cloth ? 'fell-linen' : '',
        cloth ? 'upholstery;shade' : '',
        ...(spectral ? ['', '', '', '', ''] : [...lab, 'D65', cloth ? '10deg' : '2deg']),
        cloth ? 'de:8' : '45:0',
        cloth ? '' : String(5 + ((i * 7) % 61)),
        ...(spectral ? spectrum.values : nm.map(() => '')),
      ].join(','),
    );
  }
  return lines.join('\n');
}

async function widenLine(): Promise<void> {
  const { body: line } = await service.call('GET', LINE);
  const positions = line.positions.map((each: { position: string; options: { families?: string[] } }) =>
    each.position === 'legs'
      ? { ...each, options: { ...each.options, families: [...(each.options.families ?? []), 'paint'] } }
      : each,
  );
  const range = [...line.range, ...[...made.keys()].map((finish) => ({ finish, grade: 'B', status: 'current' }))];
  const put = await service.call('PUT', LINE, { name: line.name, positions, range });
  expect(put.status).toBe(200);
}

/** A third product: a bench with a seat of 0.9 × 0.36 m whose UVs span it once along each metre, and four legs. */
async function addBench(): Promise<void> {
  const document = new Document();
  const seat = makeGrid(1, 1, (u, v) => [0.9 * u, 0.45, 0.36 * (1 - v)]);
  for (let i = 0; i < seat.uvs.length; i += 2) {
    seat.uvs[i]! *= 0.9;
    seat.uvs[i + 1]! *= 0.36;
  }
  addSolid(document, 'Seat', seat, document.createMaterial('Seat'));
  const legs = document.createMaterial('Legs');
  for (const [x, z] of [
    [0, 0],
    [0.86, 0],
    [0, 0.32],
    [0.86, 0.32],
  ] as const) {
    addSolid(document, 'Leg', makeCube(0.04), legs).setTranslation([x, 0, z]).setScale([1, 11.25, 1]);
  }
  const product = { code: 'QM-B90', name: 'Tarrowick bench', line: 'quillmere', class: 'none', mount: 'floor' };
  expect((await service.call('POST', '/api/products', product)).status).toBe(201);
  const model = await service.call('PUT', '/api/products/QM-B90/model', await new WebIO().writeBinary(document), {
    'content-type': 'model/gltf-binary',
  });
  expect(model.body.slots.map(({ slot }: { slot: string }) => slot)).toEqual(['seat', 'legs']);
  for (const slot of ['seat', 'legs'])
    expect((await service.call('PATCH', `/api/products/QM-B90/slots/${slot}`, { position: slot })).status).toBe(200);
}

function putSchedule(product: string, rows: Record<string, Record<string, string>>) {
  const variants = Object.entries(rows).map(([code, choices]) => ({ code, name: `Row ${code}`, choices }));
  return service.call('PUT', `/api/products/${product}/schedule`, { default: variants[0]!.code, variants });
}

interface Dressed {
  readonly material: Material;
  /** Side of the square that one UV unit covers in the scene, in metres. */
  readonly metresPerUv: number;
}

const hasMap = (material: Material) => material.getBaseColorTexture() !== null;
const shows = (material: Material, finish: string) => material.getName().includes(finish);

async function deliver(product: string, choices: Record<string, string>): Promise<Dressed[]> {
  expect((await putSchedule(product, { ROW: choices })).status).toBe(200);
  const delivery = await service.call('POST', `/api/products/${product}/deliveries`, {});
  expect([delivery.status, delivery.body.findings?.filter(isError)], product).toEqual([201, []]);
  const { body } = await service.call('GET', delivery.body.model);
  const document = await (await createIo()).readBinary(body);
  const sums = new Map<Material, { area: number; uvArea: number }>();
  document
    .getRoot()
    .listScenes()[0]!
    .traverse((node) => {
      for (const primitive of node.getMesh()?.listPrimitives() ?? []) {
        const material = shownMaterial(primitive);
        if (!material) continue;
        const sum = sums.get(material) ?? { area: 0, uvArea: 0 };
        addAreas(primitive, node.getWorldMatrix(), sum);
        sums.set(material, sum);
      }
    });
  return [...sums].map(([material, { area, uvArea }]) => ({ material, metresPerUv: Math.sqrt(area / uvArea) }));
}

const isError = ({ severity }: { severity: string }) => severity === 'error';

/** The material of the only variant: that of its mapping, else the primitive's own. */
function shownMaterial(primitive: Primitive): Material | null {
  const list = primitive.getExtension<MappingList>(KHRMaterialsVariants.EXTENSION_NAME);
  return list?.listMappings()[0]?.getMaterial() ?? primitive.getMaterial();
}

function addAreas(primitive: Primitive, m: readonly number[], sum: { area: number; uvArea: number }): void {
  const position = primitive.getAttribute('POSITION')!;
  const uv = primitive.getAttribute('TEXCOORD_0');
  if (!uv) return;
  const indices = primitive.getIndices()!.getArray()!;
  for (let i = 0; i < indices.length; i += 3) {
    const at = (k: number) => {
      const [x, y, z] = position.getElement(indices[i + k]!, [0, 0, 0]) as [number, number, number];
      return [0, 1, 2].map((row) => m[row]! * x + m[4 + row]! * y + m[8 + row]! * z);
    };
    const map = (k: number) => uv.getElement(indices[i + k]!, [0, 0]) as [number, number];
    const [a, b, c] = [at(0), at(1), at(2)] as [number[], number[], number[]];
    const [p, q] = [b.map((v, k) => v - a[k]!), c.map((v, k) => v - a[k]!)] as [number[], number[]];
    const cross = [
      p[1]! * q[2]! - p[2]! * q[1]!,
      p[2]! * q[0]! - p[0]! * q[2]!,
      p[0]! * q[1]! - p[1]! * q[0]!,
    ] as const;
    sum.area += Math.hypot(...cross) / 2;
    const [s, t, r] = [map(0), map(1), map(2)];
    sum.uvArea += Math.abs((t[0] - s[0]) * (r[1] - s[1]) - (r[0] - s[0]) * (t[1] - s[1])) / 2;
  }
}
