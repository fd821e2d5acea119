import { afterEach, describe, expect, it } from 'vitest';
import { createPixelThreads, type PixelThreads } from '../../../renderer/pixels/pixel-threads.ts';
import { writePng } from '../../../renderer/pixels/write-png.ts';

let threads: PixelThreads;
afterEach(() => threads?.close());

/** Pictures of one level each. */
const flat = (level: number) => ({ widthPx: 2, heightPx: 2, rgba: new Uint8Array(16).fill(level) });

describe('threads for pixels', () => {
  it('give each caller its own answer', async () => {
    threads = createPixelThreads(undefined, 3);
    const levels = Array.from({ length: 40 }, (_, n) => n * 6);
    const files = await Promise.all(levels.map((level) => threads.run({ kind: 'png', raw: flat(level) })));
    expect(files).toEqual(levels.map((level) => new Uint8Array(writePng(flat(level)))));
  });

  it('report their errors, and continue', async () => {
    threads = createPixelThreads(undefined, 2);
    const raw = { widthPx: -1, heightPx: 1, rgba: new Uint8Array(4) };
    await expect(threads.run({ kind: 'png', raw })).rejects.toThrow(/in another thread: RangeError/);
    expect(await threads.run({ kind: 'png', raw: flat(9) })).toHaveLength(writePng(flat(9)).length);
  });

  // HTML, structured clone: a function cannot be sent.
  it('stay free when a task cannot be sent to them', async () => {
    threads = createPixelThreads(undefined, 1);
    const raw = { ...flat(1), extra: () => 1 };
    await expect(threads.run({ kind: 'png', raw })).rejects.toThrow(/could not be cloned/);
    expect(await threads.run({ kind: 'png', raw: flat(9) })).toHaveLength(writePng(flat(9)).length);
  });

  it('refuse work once they are closed', async () => {
    threads = createPixelThreads(undefined, 1);
    await threads.run({ kind: 'png', raw: flat(1) });
    await threads.close();
    await expect(threads.run({ kind: 'png', raw: flat(1) })).rejects.toThrow(/closed/);
  });
});
