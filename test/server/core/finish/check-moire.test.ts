import { describe, expect, it } from 'vitest';
import { checkMoire, countThreads, type WeaveInPicture } from '../../../../server/core/finish/check-moire.ts';

// The bound, 2 px a thread, is the house's (issue on finishes, point 4); the rest is arithmetic written out here.

/** A plain weave of 20 threads to the centimetre, 0.5 mm each, in a repeat of 100 mm. */
const weave = (given: Partial<WeaveInPicture> = {}): WeaveInPicture => ({
  finish: 'LINEN',
  where: 'slot seat',
  tileWidthMm: 100,
  threadsPerTile: countThreads(100, 20),
  pxPerMm: 1,
  ...given,
});

describe('moiré', () => {
  it('is looked for by threads across the repeat', () => {
    expect(countThreads(100, 20)).toBe(200);
    expect(countThreads(25, 8)).toBe(20);
  });

  it('is found where a thread is under two pixels, with the scale that would do', () => {
    const finding = checkMoire(weave())!;
    expect(finding).toMatchObject({ code: 'moire', severity: 'warning', where: 'slot seat', place: 'LINEN' });
    expect(finding.seen).toEqual({ threadPx: 0.5, pxPerMm: 1 });
    expect(finding.expected).toMatchObject({ pxPerMm: 4 });
    expect(finding.message).toContain('4.0 times as large');
  });

  it('is not found from two pixels on, and the scale it asks for is enough', () => {
    expect(checkMoire(weave({ pxPerMm: 4 }))).toBeNull();
    expect(checkMoire(weave({ pxPerMm: 3.999 }))).not.toBeNull();
    expect(checkMoire(weave({ threadsPerTile: 50 }))).toBeNull();
    expect(checkMoire(weave({ threadsPerTile: 51 }))).not.toBeNull();
  });

  it('says nothing of figures that say nothing', () => {
    for (const bad of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(checkMoire(weave({ tileWidthMm: bad }))).toBeNull();
      expect(checkMoire(weave({ threadsPerTile: bad }))).toBeNull();
      expect(checkMoire(weave({ pxPerMm: bad }))).toBeNull();
    }
  });
});
