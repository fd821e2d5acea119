import { describe, expect, it } from 'vitest';
import { judgeNormals, type NormalsApart } from '../../../../server/core/delivery/judge-normals.ts';
import type { NotCombined } from '../../../../server/core/delivery/plan-normals.ts';

const seat = { slot: 'seat', label: 'Seat' };
const apart = (finish: string, reason: NotCombined, more: Partial<NormalsApart> = {}): NormalsApart => ({
  slot: seat,
  finish,
  kept: 'part',
  reason,
  ...more,
});

describe('normals that were not combined', () => {
  it('are told once for each slot, reason and map that stays, with the largest that would be needed', () => {
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
  ])('say why, and what would settle it: %o', (reason, words) => {
    const [finding] = judgeNormals([apart('A', reason)]);
    expect(finding!.message).toContain(words);
    expect(finding!.message).toContain('choose which of the two maps the slot shows');
    expect(finding!.expected).toBeTypeOf('string');
  });
});
