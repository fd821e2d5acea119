import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openDatabase } from '../../db/open-database.ts';
import { comparePictures } from '../support/compare-pictures.ts';
import { createRandom } from '../support/random.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';

// The demo's lamp and stool through the API: composed pictures beside pictures rendered in one piece.

const SIZE_PX = 112;
let service: TestService;
let folder: string;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-test-'));
  service = await startService({ DYEWORKS_DEMO: 'on' }, folder);
  await service.filled;
}, 180_000);
afterAll(async () => {
  await service.close();
  await rm(folder, { recursive: true, force: true });
});

interface Picture {
  readonly source: string | null;
  readonly pixels: Uint8Array;
}

const get = async (path: string): Promise<Picture> => toPicture(await service.call('GET', path));

async function toPicture({ status, headers, body }: Answer): Promise<Picture> {
  expect(status, JSON.stringify(body.detail)).toBe(200);
  return { source: headers.get('picture-source'), pixels: await sharp(body).ensureAlpha().raw().toBuffer() };
}

/** Layers stored so far. */
async function countLayers(): Promise<number> {
  const db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  const rows = await db.selectFrom('pictures').select('picture_key').where('media_type', 'like', '%layer%').execute();
  await db.destroy();
  return rows.length;
}

describe('a composed picture', () => {
  it.each(['QM-S45', 'QM-L46'])('of %s equals the rendered one within a level, in any combination', async (product) => {
    const random = createRandom(4);
    const { body } = await service.call('GET', `/api/products/${product}/schedule`);
    const variants = body.variants as { code: string; choices: Record<string, string> }[];
    let compared = 0;
    for (let run = 0; run < 20 && compared < 2; run++) {
      const choices = Object.keys(variants[0]!.choices).map((slot) => `${slot}:${random.pick(variants).choices[slot]}`);
      const query = choices.map((choice) => `choice=${encodeURIComponent(choice)}`).join('&');
      const ground = random.pick(['white', 'transparent']);
      const path = `/api/products/${product}/picture.png?${query}&size=${SIZE_PX}&ground=${ground}`;
      const answer = await service.call('GET', path);
      // The line's rules exclude some.
      if (answer.status === 409) continue;
      const composed = await toPicture(answer);
      const direct = await get(`${path}&direct=1`);
      expect([composed.source, direct.source]).toEqual(['composed', 'rendered']);
      expect(comparePictures(composed.pixels, direct.pixels).most, choices.join()).toBeLessThanOrEqual(1);
      compared++;
    }
    expect(compared).toBe(2);
  });

  it('has its shadow as a file of its own, and equals the rest of the whole picture without it', async () => {
    const path = '/api/products/QM-S45/picture.png?size=96&view=side';
    const [whole, without, only] = [
      await get(path),
      await get(`${path}&shadow=without`),
      await get(`${path}&shadow=only`),
    ];
    let dark = 0;
    for (let at = 0; at < whole.pixels.length; at += 4) {
      const alpha = without.pixels[at + 3]! + only.pixels[at + 3]!;
      expect(Math.abs(whole.pixels[at + 3]! - alpha)).toBeLessThanOrEqual(1);
      expect(only.pixels[at]! + only.pixels[at + 1]! + only.pixels[at + 2]!).toBe(0);
      if (only.pixels[at + 3]! > 20) dark++;
    }
    expect(dark).toBeGreaterThan(50);
    const direct = await get(`${path}&shadow=without&direct=1`);
    expect([without.source, only.source, direct.source]).toEqual(['composed', 'composed', 'rendered']);
    expect(comparePictures(without.pixels, direct.pixels).most).toBeLessThanOrEqual(1);
  });

  it('takes only missing layers: one for a new finish, none for a new combination of known ones', async () => {
    const path = (variant: string) => `/api/products/QM-S45/pictures/${variant}.webp?size=96&view=side`;
    const { body } = await service.call('GET', '/api/products/QM-S45/schedule');
    const [first, ...others] = body.variants as { code: string; choices: Record<string, string> }[];
    expect((await get(path(first!.code))).source).toBe('composed');
    const before = await countLayers();
    const slot = 'seat';
    const choose = (code: string, more = '') =>
      `/api/products/QM-S45/picture.webp?choice=${slot}:${code}&size=96&view=side${more}`;
    let code = '';
    for (const { choices } of others) {
      if (choices[slot] === first!.choices[slot]) continue;
      code = choices[slot]!;
      // The line's rules exclude some with the finishes of the default variant.
      const answer = await service.call('GET', choose(code));
      if (answer.status === 409) continue;
      expect((await toPicture(answer)).source).toBe('composed');
      break;
    }
    expect(await countLayers()).toBe(before + 1);
    // Background and format do not belong to a layer.
    expect((await get(choose(code, '&ground=white'))).source).toBe('composed');
    expect((await get(choose(code).replace('.webp', '.jpg'))).source).toBe('composed');
    expect(await countLayers()).toBe(before + 1);
  });

  it('takes new layers for a changed finish only', async () => {
    const path = '/api/products/QM-S45/picture.png?size=80&view=front';
    const { body: schedule } = await service.call('GET', '/api/products/QM-S45/schedule');
    const standing = schedule.variants.find(({ code }: { code: string }) => code === schedule.default);
    const first = await get(path);
    const before = await countLayers();
    const [slot, finish] = Object.entries(standing.choices as Record<string, string>).find(
      ([, code], _, all) => all.filter(([, other]) => other === code).length === 1,
    )!;
    const { body: given } = await service.call('GET', `/api/finishes/${finish}`);
    const { name, family, article, reference } = given;
    const changed = {
      name,
      family,
      ...(article && { article }),
      ...(reference && { reference }),
      colour: { hex: '#a01040' },
    };
    expect((await service.call('PUT', `/api/finishes/${finish}`, changed)).status).toBe(200);
    const second = await get(path);
    expect([second.source, await countLayers()]).toEqual(['composed', before + 1]);
    expect(comparePictures(first.pixels, second.pixels).most, `${finish} on ${slot}`).toBeGreaterThan(20);
  });

  it('is composed from stored layers by a restarted service', async () => {
    const path = (ground: string) => `/api/products/QM-L46/picture.png?size=80&view=back&ground=${ground}`;
    const clear = await get(path('transparent'));
    const before = await countLayers();
    await service.close();
    service = await startService({}, folder);
    const white = await get(path('white'));
    // No browser had to start for it.
    expect((await service.call('GET', '/health')).body.renderer ?? null).toBeNull();
    expect([clear.source, white.source, await countLayers()]).toEqual(['composed', 'composed', before]);
  });
});
