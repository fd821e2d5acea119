import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { StudioSession } from '../../renderer/studio-session.ts';
import { openTestSession } from './built-studio.ts';
import { makeBoxes, makeCoatedBoxes, writeFinishGlb } from './models.ts';

/**
 * Khronos PBR Neutral, linear in and 8-bit sRGB out, computed from the published formula. Source:
 * KhronosGroup/ToneMapping PBR_Neutral, commit b5a2eed.
 */
const PBR_NEUTRAL: readonly (readonly [readonly [number, number, number], readonly [number, number, number]])[] = [
  [
    [0, 0, 0],
    [0, 0, 0],
  ],
  [
    [0.02, 0.02, 0.02],
    [8, 8, 8],
  ],
  [
    [0.04, 0.04, 0.04],
    [25, 25, 25],
  ],
  [
    [0.08, 0.08, 0.08],
    [56, 56, 56],
  ],
  [
    [0.1, 0.1, 0.1],
    [69, 69, 69],
  ],
  [
    [0.18, 0.18, 0.18],
    [105, 105, 105],
  ],
  [
    [0.5, 0.5, 0.5],
    [181, 181, 181],
  ],
  [
    [0.8, 0.8, 0.8],
    [226, 226, 226],
  ],
  [
    [0.84, 0.84, 0.84],
    [230, 230, 230],
  ],
  [
    [0.9, 0.9, 0.9],
    [235, 235, 235],
  ],
  [
    [1, 1, 1],
    [240, 240, 240],
  ],
  [
    [2, 2, 2],
    [250, 250, 250],
  ],
  [
    [5, 5, 5],
    [254, 254, 254],
  ],
  [
    [10, 10, 10],
    [254, 254, 254],
  ],
  [
    [100, 100, 100],
    [255, 255, 255],
  ],
  [
    [0.8, 0.2, 0.1],
    [226, 111, 69],
  ],
  [
    [0.84, 0.24, 0.14],
    [230, 123, 89],
  ],
  [
    [1, 0.2, 0.05],
    [240, 111, 45],
  ],
  [
    [0.5, 0.01, 0.3],
    [186, 2, 147],
  ],
  [
    [0.05, 0.4, 0.7],
    [34, 163, 213],
  ],
  [
    [2, 0.5, 0.1],
    [250, 154, 108],
  ],
  [
    [10, 1, 0.1],
    [254, 205, 199],
  ],
  [
    [1, 0, 0],
    [241, 33, 33],
  ],
  [
    [0, 0, 1],
    [33, 33, 241],
  ],
  [
    [0.64, 0.04, 0.04],
    [205, 25, 25],
  ],
  [
    [0.08, 0.8, 0.4],
    [56, 226, 162],
  ],
];

describe('the studio in a browser', () => {
  let session: StudioSession;
  beforeAll(async () => {
    session = await openTestSession();
  }, 120_000);
  afterAll(async () => {
    await session?.end();
  });

  it('shows the published values of PBR Neutral through its own shader, within one level', async () => {
    const shown = await session.call(
      'drawToneChart',
      PBR_NEUTRAL.map(([linear]) => linear),
    );
    shown.forEach((pixel, index) => {
      const [linear, expected] = PBR_NEUTRAL[index]!;
      const off = Math.max(...expected.map((level, channel) => Math.abs(level - pixel[channel]!)));
      expect(off, `${linear} shows ${pixel}, published ${expected}`).toBeLessThanOrEqual(1);
      expect(pixel[3]).toBe(255);
    });
  });

  it('shows a grey card of 18 % as 18 %', () => {
    const linear = session.details.greyCard;
    // The card's own level: 0.18 linear is 117.646 of 255 by IEC 61966-2-1.
    const level = 255 * (1.055 * linear ** (1 / 2.4) - 0.055);
    expect(Math.abs(level - 117.646)).toBeLessThan(0.5);
  });

  it('states its facts', () => {
    expect(session.facts.browser).toMatch(/\d+\./);
    expect(session.facts.gl).not.toBe('');
    expect(['gpu', 'llvmpipe', 'swiftshader']).toContain(session.facts.driver);
  });

  it('reports a lost context, not an empty picture, if it is lost before the pixels are read', async () => {
    // WEBGL_lose_context, WebGL extension 8: the context is lost as after a system failure.
    const [page] = await session.browser.pages();
    await page!.evaluate(`{
      const read = WebGL2RenderingContext.prototype.readPixels;
      WebGL2RenderingContext.prototype.readPixels = function (...values) {
        this.getExtension('WEBGL_lose_context')?.loseContext();
        return read.apply(this, values);
      };
    }`);
    const { server } = session;
    const kit = server.offer({ bytes: await writeFinishGlb([0.2, 0.4, 0.6]) });
    const delivery = server.expect(64 * 64 * 4);
    const order = { kind: 'sphere', light: 'studio', url: kit.url, sizePx: 64, ground: 'white' } as const;
    expect(await session.call('takeSwatch', order, delivery.url)).toMatchObject({ ok: false, code: 'context-lost' });
    kit.withdraw();
    delivery.cancel();
    await session.reload();
    const again = server.expect(64 * 64 * 4);
    const kept = server.offer({ bytes: await writeFinishGlb([0.2, 0.4, 0.6]) });
    expect(await session.call('takeSwatch', { ...order, url: kept.url }, again.url)).toEqual({ ok: true });
    const [pixels] = await again.pixels;
    expect(pixels!.some((level) => level > 0)).toBe(true);
    kept.withdraw();
  });

  it('names the part whose shader fails, instead of leaving it out', async () => {
    const { server } = session;
    const [page] = await session.browser.pages();
    await session.reload();
    // three defines this for materials with a coat. GLSL ES 3.00 §3.4: #error stops the compiler.
    await page!.evaluate(`{
      const give = WebGL2RenderingContext.prototype.shaderSource;
      WebGL2RenderingContext.prototype.shaderSource = function (shader, source) {
        return give.call(this, shader, source.replace('#define USE_CLEARCOAT', '#error no coats here'));
      };
    }`);
    const take = async (key: string, bytes: Uint8Array) => {
      const [offer, delivery] = [server.offer({ bytes }), server.expect(32 * 32 * 4)];
      const answer = await session.call(
        'takeProduct',
        {
          ...{ key, url: offer.url, assignments: [], view: 'front', mount: 'floor', widthPx: 32, heightPx: 32 },
          ...{ ground: 'white', quality: 'draft', tilePx: 2048 },
        },
        delivery.url,
      );
      offer.withdraw();
      delivery.cancel();
      return answer;
    };
    expect(await take('plain', await makeBoxes([]))).toEqual({ ok: true });
    const answer = await take('coated', await makeCoatedBoxes());
    expect(answer).toMatchObject({ ok: false, code: 'shader-failed' });
    expect(answer).toMatchObject({ message: expect.stringMatching(/“Lacquer” on “upper”.*shader failed/) });
    expect(session.takeRemarks().join()).toContain('no coats here');
    await session.reload();
    expect(await take('coated', await makeCoatedBoxes())).toEqual({ ok: true });
  });

  it('rejects a call when its browser ends during it', async () => {
    // A stopped process cannot answer before it is ended.
    process.kill(session.pid!, 'SIGSTOP');
    const call = session.call(
      'takeSwatch',
      { kind: 'sphere', light: 'studio', url: 'http://127.0.0.1:9/', sizePx: 64, ground: 'white' },
      'http://127.0.0.1:9/',
    );
    const ended = expect(call).rejects.toThrow();
    process.kill(session.pid!, 'SIGKILL');
    await ended;
    expect(session.isGone()).toBe(true);
  });
});
