import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeNoisePng } from '../support/build-model.ts';
import { comparePictures } from '../support/compare-pictures.ts';
import { makeLayeredSeat, SEAT_PARTS } from '../support/layered-seat.ts';
import { createRandom } from '../support/random.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A seat with coplanar, masked, blended and double-sided parts. Its slots have finishes that cover and finishes that do
// not, as a caller requests them. The answer states how a picture was made, and both ways agree within a level.

const VIEWS = ['three-quarter', 'back', 'top'] as const;
const SIZE_PX = 96;

const FINISHES = {
  RED: { family: 'paint', colour: { hex: '#b3202a' } },
  STEEL: { family: 'bare-metal', colour: { hex: '#c4c7c7' }, roughness: 0.2 },
  LINEN: { family: 'textile', colour: { hex: '#d8cfc0' }, sheen: { colour: '#ffffff', roughness: 0.4 } },
  LACQUER: { family: 'paint', colour: { hex: '#1d4f3a' }, clearcoat: 1, roughness: 0.5 },
  PRINT: { family: 'textile', colour: { hex: '#ffffff' } },
  GLASS: { family: 'glass', colour: { hex: '#a8c8c0' } },
} as const;
type Code = keyof typeof FINISHES;

/** Light passes through it on any part. */
const CLEAR: Code = 'GLASS';
/** Its colour map would shape a blended part without a map of its own. */
const PRINTED: Code = 'PRINT';

let service: TestService;
beforeAll(async () => {
  service = await startService();
  const print = await makeNoisePng(9, 32, true);
  const map = await service.call('POST', '/api/files', print, { 'content-type': 'image/png' });
  expect(map.status).toBe(201);
  for (const [code, given] of Object.entries(FINISHES)) {
    const maps = code === PRINTED && {
      maps: { colour: map.body.sha256 },
      tile: { widthMm: 200, heightMm: 200 },
    };
    const put = await service.call('PUT', `/api/finishes/${code}`, { name: code, ...given, ...maps });
    expect(put.status, JSON.stringify(put.body)).toBe(201);
  }
  await service.call('POST', '/api/products', { code: 'SEAT', name: 'Seat', mount: 'floor' });
  const put = await service.call('PUT', '/api/products/SEAT/model', await makeLayeredSeat(), {
    'content-type': 'model/gltf-binary',
  });
  expect(put.status, JSON.stringify(put.body)).toBe(201);
}, 120_000);
afterAll(() => service?.close());

async function get(path: string) {
  const { status, headers, body } = await service.call('GET', path);
  expect(status, `${path}: ${JSON.stringify(body.detail)}`).toBe(200);
  return { source: headers.get('picture-source'), pixels: await sharp(body).ensureAlpha().raw().toBuffer() };
}

type Combination = readonly (readonly [slot: string, finish: Code])[];

function ask(combination: Combination, view: string, ground: string): string {
  const choices = combination.map(([slot, finish]) => `choice=${slot}:${finish}`).join('&');
  return `/api/products/SEAT/picture.png?${choices}&view=${view}&size=${SIZE_PX}&ground=${ground}`;
}

/** A finish for most slots, none for some. */
function draw(random: ReturnType<typeof createRandom>, codes: readonly Code[]): Combination {
  return SEAT_PARTS.filter(() => random.next() < 0.8).map((slot) => [slot, random.pick(codes)]);
}

describe('a random combination', () => {
  it('of covering finishes is composed, and equals the rendered one', async () => {
    const random = createRandom(21);
    const codes = (Object.keys(FINISHES) as Code[]).filter((code) => code !== CLEAR && code !== PRINTED);
    for (let run = 0; run < 6; run++) {
      const combination = draw(random, codes);
      const path = ask(combination, VIEWS[run % 3]!, random.pick(['white', 'transparent', 'd9cfc0']));
      const [composed, direct] = [await get(path), await get(`${path}&direct=1`)];
      expect([composed.source, direct.source]).toEqual(['composed', 'rendered']);
      expect(comparePictures(composed.pixels, direct.pixels).most, path).toBeLessThanOrEqual(1);
    }
  });

  it('with a finish that does not cover is rendered, and says so', async () => {
    const random = createRandom(22);
    const codes = Object.keys(FINISHES) as Code[];
    const ways = new Set<string>();
    for (let run = 0; run < 6; run++) {
      const combination = draw(random, codes);
      const path = ask(combination, VIEWS[run % 3]!, 'white');
      const direct = combination.some(([slot, finish]) => finish === CLEAR || (finish === PRINTED && slot === 'veil'));
      const [picture, whole] = [await get(path), await get(`${path}&direct=1`)];
      expect(picture.source, path).toBe(direct ? 'rendered' : 'composed');
      expect(comparePictures(picture.pixels, whole.pixels).most, path).toBeLessThanOrEqual(1);
      ways.add(picture.source!);
    }
    expect(ways.size).toBe(2);
  });

  it('is composed of blended over blended and coplanar parts, in any order of slots', async () => {
    const combination: Combination = [
      ['veil', 'RED'],
      ['net', 'STEEL'],
      ['frame', 'LACQUER'],
      ['inlay', 'LINEN'],
      ['stripe', 'RED'],
      ['cane', 'STEEL'],
    ];
    for (const view of VIEWS) {
      const path = ask(combination, view, 'white');
      const turned = ask([...combination].reverse(), view, 'white');
      const [one, other, direct] = [await get(path), await get(turned), await get(`${path}&direct=1`)];
      // It is recognised as the same picture.
      expect([one.source, other.source]).toEqual(['composed', 'stored']);
      expect(other.pixels).toEqual(one.pixels);
      expect(comparePictures(one.pixels, direct.pixels).most).toBeLessThanOrEqual(1);
    }
  });

  it('is composed if its slot closes the holes of a part, and after they are opened again', async () => {
    const combination: Combination = [
      ['veil', 'RED'],
      ['net', 'STEEL'],
      ['cane', 'LINEN'],
      ['frame', 'LACQUER'],
    ];
    const path = ask(combination, 'three-quarter', 'white');
    const open = await get(path);
    for (const slot of ['veil', 'cane']) {
      const { body } = await service.call('GET', '/api/products/SEAT/slots');
      const { keep } = body.slots.find((listed: { slot: string }) => listed.slot === slot);
      const change = async (alpha: boolean) =>
        service.call('PATCH', `/api/products/SEAT/slots/${slot}`, { keep: { ...keep, alpha } });
      expect((await change(false)).status).toBe(200);
      const [closed, direct] = [await get(path), await get(`${path}&direct=1`)];
      expect(closed.source).toBe('composed');
      expect(comparePictures(closed.pixels, direct.pixels).most, slot).toBeLessThanOrEqual(1);
      expect(comparePictures(closed.pixels, open.pixels).most, slot).toBeGreaterThan(20);
      await change(true);
      expect(comparePictures((await get(path)).pixels, open.pixels).most).toBe(0);
    }
  });
});
