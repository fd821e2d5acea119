import { describe, expect, it } from 'vitest';
import {
  BAKED_LIMIT_PX,
  judgeNormals,
  type NormalsApart,
  type NotCombined,
  type PlannedNormals,
  planNormals,
} from '../../../../server/core/delivery/plan-normals.ts';
import {
  repeatTransform,
  type TextureTransform,
  toUvMap,
  UVS_IN_METRES,
} from '../../../../server/core/delivery/repeat-transform.ts';
import type { UvBounds } from '../../../../server/core/product/survey.ts';

const SQUARE: UvBounds = { min: [0, 0], max: [1, 1] };
const BEYOND: UvBounds = { min: [0, 0], max: [3.2, 1] };

const makePart = (px: number, transform: TextureTransform = {}, repeats = true): PlannedNormals => ({
  widthPx: px,
  heightPx: px,
  lay: toUvMap(transform),
  repeats,
});

const layOf = (metres: number) => ({ ...UVS_IN_METRES, metresPerU: metres, metresPerV: metres });

/** A square map of a repeat in mm, on a part with this many metres per UV unit. */
const makeFinish = (px: number, tileMm: number, metresPerUv = 1, degrees = 0): PlannedNormals => ({
  ...makePart(px, repeatTransform({ widthMm: tileMm, heightMm: tileMm }, layOf(metresPerUv), degrees)),
});

describe('the combined map of part and finish', () => {
  it('has as many texels as the finish has on the part, in powers of two', () => {
    // 1000 mm in repeats of 300 mm with 512 px each: 1707 px.
    expect(planNormals(makePart(256), makeFinish(512, 300), SQUARE)).toMatchObject({ widthPx: 2048, heightPx: 2048 });
    // 600 mm: 1024 px, in any direction.
    for (const degrees of [0, 30, 90]) {
      expect(planNormals(makePart(256), makeFinish(512, 300, 0.6, degrees), SQUARE)).toMatchObject({
        widthPx: 1024,
        heightPx: 1024,
      });
    }
  });

  it('has at least as many as the part’s own map', () => {
    expect(planNormals(makePart(1024), makeFinish(16, 300), SQUARE)).toMatchObject({ widthPx: 1024, heightPx: 1024 });
    // Four repeats of it per unit, and an odd size.
    expect(planNormals(makePart(300, { scale: [4, 2] }), makeFinish(16, 300), SQUARE)).toMatchObject({
      widthPx: 2048,
      heightPx: 1024,
    });
  });

  it('has the side each direction needs, also if the repeat lies across', () => {
    const tile = { widthMm: 500, heightMm: 250 };
    const laid = (degrees: number): PlannedNormals => ({
      widthPx: 256,
      heightPx: 512,
      lay: toUvMap(repeatTransform(tile, layOf(1), degrees)),
      repeats: true,
    });
    expect(planNormals(makePart(4), laid(0), SQUARE)).toMatchObject({ widthPx: 512, heightPx: 2048 });
    expect(planNormals(makePart(4), laid(90), SQUARE)).toMatchObject({ widthPx: 2048, heightPx: 512 });
  });

  it('does not double for the rounding of UVs', () => {
    expect(planNormals(makePart(64), makeFinish(256, 250, 1.0000003), SQUARE)).toMatchObject({ widthPx: 1024 });
  });

  it('never exceeds the limit', () => {
    expect(planNormals(makePart(64), makeFinish(512, 250), SQUARE)).toMatchObject({ widthPx: BAKED_LIMIT_PX });
    expect(planNormals(makePart(64), makeFinish(512, 240), SQUARE)).toEqual({ why: 'too-fine', neededPx: 4096 });
    expect(planNormals(makePart(4096), makeFinish(16, 300), SQUARE)).toEqual({ why: 'too-fine', neededPx: 4096 });
  });

  it('covers only the unit square, unless both maps repeat with it', () => {
    const finish = makeFinish(64, 300);
    expect(planNormals(makePart(64), finish, BEYOND)).toEqual({ why: 'beyond-square', bounds: BEYOND });
    expect(planNormals(makePart(64), finish, null)).toEqual({ why: 'beyond-square', bounds: null });
    const whole = makeFinish(64, 250, 1, 90);
    expect(planNormals(makePart(64, { scale: [2, 2] }), whole, BEYOND)).toMatchObject({ repeats: true });
    expect(planNormals(makePart(64, { scale: [2.5, 2] }), whole, BEYOND)).toMatchObject({ why: 'beyond-square' });
    expect(planNormals(makePart(64, {}, false), whole, BEYOND)).toMatchObject({ why: 'beyond-square' });
    expect(planNormals(makePart(64), makeFinish(64, 250, 1, 30), BEYOND)).toMatchObject({ why: 'beyond-square' });
  });

  it('extends its edge within the square if it would not repeat', () => {
    const rounded: UvBounds = { min: [-0.0004, 0], max: [1, 1.0004] };
    expect(planNormals(makePart(64), makeFinish(64, 300), rounded)).toMatchObject({ repeats: false });
    expect(planNormals(makePart(64), makeFinish(64, 250), rounded)).toMatchObject({ repeats: true });
  });
});

const seat = { slot: 'seat', label: 'Seat' };
const apart = (finish: string, reason: NotCombined, more: Partial<NormalsApart> = {}): NormalsApart => ({
  slot: seat,
  finish,
  kept: 'part',
  reason,
  ...more,
});

describe('normals that were not combined', () => {
  it('are reported once per slot, reason and used map, with the largest size needed', () => {
    const findings = judgeNormals([
      apart('A', { why: 'too-fine', neededPx: 4096 }),
      apart('B', { why: 'too-fine', neededPx: 8192 }),
      apart('B', { why: 'too-fine', neededPx: 8192 }),
      apart('A', { why: 'too-fine', neededPx: 4096 }, { kept: 'finish' }),
      apart('A', { why: 'too-fine', neededPx: 4096 }, { slot: { slot: 'back', label: 'Back' } }),
    ]);
    expect(findings.map(({ code, where }) => [code, where])).toEqual([
      ['normals-not-combined', 'slot seat'],
      ['normals-not-combined', 'slot seat'],
      ['normals-not-combined', 'slot back'],
    ]);
    expect(findings[0]).toMatchObject({
      severity: 'note',
      seen: { finishes: ['A', 'B'], kept: 'part', why: 'too-fine', neededPx: 8192 },
    });
    expect(findings[0]!.message).toContain('8192 px');
    expect(findings[0]!.message).toContain('the part’s own normal map is used');
    expect(findings[1]!.message).toContain('the finish’s normal map is used');
  });

  it.each<[NotCombined, string]>([
    [{ why: 'beyond-square', bounds: { min: [-0.5, 0], max: [3.204, 1] } }, 'from (-0.5, 0) to (3.2, 1)'],
    [{ why: 'beyond-square', bounds: null }, 'cannot be read'],
    [{ why: 'other-uv-set', texCoord: 1 }, 'another set of UVs'],
    [{ why: 'unreadable', map: 'finish' }, 'the finish’s map cannot be read'],
    [{ why: 'tangents-differ' }, 'only some of its primitives have tangents'],
  ])('state the reason and the remedy: %o', (reason, words) => {
    const [finding] = judgeNormals([apart('A', reason)]);
    expect(finding!.message).toContain(words);
    expect(finding!.message).toContain('choose which of the two maps the slot shows');
    expect(finding!.expected).toBeTypeOf('string');
  });
});
