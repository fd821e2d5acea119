import { mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createPictureStore } from '../../../db/create-picture-store.ts';
import { openDatabase } from '../../../db/open-database.ts';
import { createLayers } from '../../../renderer/layers/create-layers.ts';
import { createPixelThreads } from '../../../renderer/pixels/pixel-threads.ts';
import type { Composition, Layers } from '../../../server/core/ports/renderer.ts';
import type { PictureStore } from '../../../server/core/ports/stores.ts';
import { Problem } from '../../../server/core/problems.ts';
import { makeRawLayer, type Pixel } from './raw-layers.ts';

let folder: string;
let store: PictureStore;
const threads = createPixelThreads();
let taken: string[];
let shots: string[];
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-layers-'));
  store = createPictureStore(await openDatabase(':memory:'), folder, 100_000);
  taken = [];
  shots = [];
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

afterAll(() => threads.close());

function createOpen(cacheLimitBytes?: number): Layers {
  return createLayers({ store, threads, ...(cacheLimitBytes === undefined ? {} : { cacheLimitBytes }) });
}

/**
 * Layers of a picture of 3 × 1 pixels: each key fills one pixel, at its place in the list, with its own level of red.
 */
function compositionOf(keys: readonly string[], more: Partial<Composition> = {}): Composition {
  return {
    widthPx: 3,
    heightPx: 1,
    ground: null,
    takeAtMost: 10,
    layers: keys,
    take: async (places) => {
      taken.push(...places.map((place) => keys[place]!));
      shots.push(places.map((place) => keys[place]!).join(''));
      await new Promise((resolve) => setTimeout(resolve, 20));
      return places.map((place) => {
        const level = keys[place]!.charCodeAt(0);
        return makeRawLayer(
          3,
          [0, 1, 2].map((at): Pixel => (at === place ? [level, 0, 0, 255] : null)),
        );
      });
    },
    ...more,
  };
}

const reds = ({ rgba }: { rgba: Uint8Array }) => [0, 4, 8].map((at) => String.fromCharCode(rgba[at]!)).join('');

describe('layers', () => {
  it('are taken once for a burst of requests, and then cached', async () => {
    const layers = createOpen();
    const burst = ['abc', 'abd', 'abc', 'abe'].map((keys) => layers.compose(compositionOf([...keys])));
    expect((await Promise.all(burst)).map((picture) => reds(picture!))).toEqual(['abc', 'abd', 'abc', 'abe']);
    expect(taken.sort()).toEqual(['a', 'b', 'c', 'd', 'e']);
    await layers.compose(compositionOf(['a', 'b', 'e']));
    expect(taken).toHaveLength(5);
  });

  it('of guests do not drive out those of others from memory', async () => {
    // each layer needs something over a kilobyte
    const layers = createOpen(8 * 1200);
    const guest = { rank: 'guest', name: 'g' } as const;
    await layers.compose(compositionOf(['a', 'b', 'c']));
    for (const key of 'defghijklmnopqrstuvwxyz') await layers.compose(compositionOf([key], { turn: guest }));
    rmSync(folder, { recursive: true });
    taken = [];
    await layers.compose(compositionOf(['a', 'b', 'c']));
    expect(taken).toEqual([]);
  });

  it('that a guest waits for do not hold up a person, who takes them', async () => {
    const layers = createOpen();
    const turn = { rank: 'guest', name: 'g' } as const;
    let release = () => {};
    const held = new Promise<void>((resolve) => (release = resolve));
    const given = compositionOf(['a', 'b'], { turn });
    const take: Composition['take'] = async (places) => {
      await held;
      return given.take(places);
    };
    const guest = layers.compose({ ...given, take });
    await new Promise((resolve) => setTimeout(resolve, 20));
    expect(reds((await layers.compose(compositionOf(['a', 'b'])))!).slice(0, 2)).toBe('ab');
    release();
    expect(reds((await guest)!).slice(0, 2)).toBe('ab');
  });

  it('are taken by the next caller when the one who asked first has left', async () => {
    const layers = createOpen();
    const gone = new AbortController();
    const left = new Problem('caller-left', { detail: 'left' });
    const turn = { rank: 'guest', name: 'g', signal: gone.signal } as const;
    const stops = () => new Promise<never>((_, reject) => gone.signal.addEventListener('abort', () => reject(left)));
    const first = expect(layers.compose(compositionOf(['a', 'b'], { turn, take: stops }))).rejects.toBe(left);
    await new Promise((resolve) => setTimeout(resolve, 20));
    const second = layers.compose(compositionOf(['a', 'b']));
    await new Promise((resolve) => setTimeout(resolve, 20));
    gone.abort();
    await first;
    expect(reds((await second)!).slice(0, 2)).toBe('ab');
  });

  it('that are missing are taken together, each by one caller', async () => {
    const layers = createOpen();
    await Promise.all(
      [
        ['a', 'b'],
        ['a', 'b', 'c'],
        ['c', 'd'],
      ].map((keys) => layers.compose(compositionOf(keys))),
    );
    expect(shots).toEqual(['ab', 'c', 'd']);
  });

  it('fail for all callers that wait for them, and not for others', async () => {
    const layers = createOpen();
    const failing = { ...compositionOf(['a', 'b']), take: () => Promise.reject(new Error('no light')) };
    const answers = await Promise.allSettled([
      layers.compose(failing),
      layers.compose(compositionOf(['b'])),
      layers.compose(compositionOf(['c'])),
    ]);
    expect(answers.map(({ status }) => status)).toEqual(['rejected', 'rejected', 'fulfilled']);
    expect(reds((await layers.compose(compositionOf(['a', 'b'])))!)).toBe('ab\0');
  });

  it('are found again by the next process, and by one without a cache', async () => {
    await createOpen().compose(compositionOf(['a', 'b']));
    for (const limit of [undefined, 0]) {
      const picture = await createOpen(limit).compose(compositionOf(['a', 'b'], { takeAtMost: 0 }));
      expect(reds(picture!)).toBe('ab\0');
    }
    expect(taken).toHaveLength(2);
  });

  it('are taken again when a stored one was changed or is missing', async () => {
    await createOpen().compose(compositionOf(['a', 'b', 'c']));
    const path = join(folder, 'a');
    writeFileSync(path, new Uint8Array(statSync(path).size).fill(7));
    rmSync(join(folder, 'b'));
    const picture = await createOpen().compose(compositionOf(['a', 'b', 'c']));
    expect([reds(picture!), taken.slice(3).sort()]).toEqual(['abc', ['a', 'b']]);
    await createOpen().compose(compositionOf(['a', 'b', 'c'], { takeAtMost: 0 }));
    expect(taken).toHaveLength(5);
  });

  it('are not taken when more are missing than allowed', async () => {
    const layers = createOpen();
    await layers.compose(compositionOf(['a']));
    expect(await layers.compose(compositionOf(['a', 'b', 'c'], { takeAtMost: 1 }))).toBeNull();
    expect(taken).toEqual(['a']);
  });

  it('count towards the limit of pictures, and the least recently used go first', async () => {
    const small = createPictureStore(await openDatabase(':memory:'), join(folder, 'small'), 400);
    const layers = createLayers({ store: small, threads, cacheLimitBytes: 0 });
    for (const key of 'abcdefghij') await layers.compose(compositionOf([key]));
    const bytes = readdirSync(join(folder, 'small')).reduce(
      (sum, name) => sum + statSync(join(folder, 'small', name)).size,
      0,
    );
    expect(bytes).toBeLessThanOrEqual(400);
    expect([await layers.compose(compositionOf(['a'], { takeAtMost: 0 })), taken.length]).toEqual([null, 10]);
    expect(reds((await layers.compose(compositionOf(['j'], { takeAtMost: 0 })))!)[0]).toBe('j');
  });

  it('report why one cannot be taken, and are tried again afterwards', async () => {
    const layers = createOpen();
    const failing = compositionOf(['a']);
    const take = () => Promise.reject(new Error('no light'));
    await expect(layers.compose({ ...failing, take })).rejects.toThrow('no light');
    expect(reds((await layers.compose(failing))!)[0]).toBe('a');
  });
});
