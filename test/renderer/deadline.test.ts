import { describe, expect, it } from 'vitest';
import { getSheetTimeoutMs, getShotTimeoutMs, Overdue, withDeadline } from '../../renderer/deadline.ts';

describe('the deadline', () => {
  it('is the plain one up to 2048 × 2048 px, and grows with the pixels above', () => {
    expect(getShotTimeoutMs(64, 64, 60_000)).toBe(60_000);
    expect(getShotTimeoutMs(2048, 2048, 60_000)).toBe(60_000);
    expect(getShotTimeoutMs(4096, 2048, 60_000)).toBe(120_000);
    expect(getShotTimeoutMs(8192, 8192, 60_000)).toBe(16 * 60_000);
    // A strip has no more pixels than a square.
    expect(getShotTimeoutMs(8192, 512, 60_000)).toBe(60_000);
  });

  it('of a sheet grows with its pictures', () => {
    expect(getSheetTimeoutMs(0, 60_000)).toBe(60_000);
    expect(getSheetTimeoutMs(400, 60_000)).toBe(160_000);
  });

  it('reports when it has passed, and passes on earlier results', async () => {
    await expect(withDeadline(new Promise(() => undefined), 1)).rejects.toBeInstanceOf(Overdue);
    expect(await withDeadline(Promise.resolve(7), 60_000)).toBe(7);
    await expect(withDeadline(Promise.reject(new Error('broken')), 60_000)).rejects.toThrow('broken');
  });

  it('handles a failure that comes after it', async () => {
    let fail = (_: Error) => {};
    const late = new Promise<never>((_, reject) => {
      fail = reject;
    });
    await expect(withDeadline(late, 1)).rejects.toBeInstanceOf(Overdue);
    // Without a handler, it would end the test run.
    fail(new Error('too late'));
    await new Promise((resolve) => setImmediate(resolve));
  });
});
