import { describe, expect, it } from 'vitest';
import type { RepeatSizes, Survey, UvDensity } from '../../../../server/core/product/survey.ts';
import { listProposals } from '../../../../server/core/repair/list-proposals.ts';
import { check, findAll, makeGoodSurvey, withMaterial } from '../../../support/make-model-check.ts';

const good = makeGoodSurvey();
const density = (metresPerUv: number, areaM2: number, node = `Piece ${metresPerUv}`): UvDensity => ({
  metresPerUv,
  areaM2,
  count: 1,
  pieces: ['0123456789ab'],
  nodes: [node],
});
/** A seat without maps, with these repeat sizes and pieces of these densities. */
const lay = (sizes: RepeatSizes | null, ...densities: readonly UvDensity[]): Survey =>
  withMaterial(good, { uv: { ...good.materials[0]!.uv!, sizes }, maps: [], densities });
const find = (survey: Survey) => findAll(check(survey), 'uneven-density');

// A repeat more than a tenth off its true size is visible: common practice.
describe('a repeat with different sizes', () => {
  it.each<[string, RepeatSizes | null]>([
    ['true', { low: 1, high: 1, off: 0 }],
    ['not known', null],
    ['off by up to a tenth', { low: 0.92, high: 1.09, off: 0 }],
    ['off on trim only', { low: 1, high: 1.05, off: 0.04 }],
  ])('is no finding if they are %s', (_, sizes) => {
    expect(find(lay(sizes, density(0.5, 0.5), density(1.5, 0.5)))).toEqual([]);
  });

  it.each<[string, RepeatSizes, readonly UvDensity[], string]>([
    ['changes a little over one piece', { low: 0.85, high: 1.05, off: 0.17 }, [density(1, 1)], 'note'],
    ['doubles over one piece', { low: 0.7, high: 1.4, off: 0.5 }, [density(1, 1)], 'warning'],
    ['steps where large pieces meet', { low: 0.8, high: 1, off: 0.4 }, [density(0.8, 0.4), density(1, 0.6)], 'warning'],
    ['differs on trim', { low: 0.78, high: 1, off: 0.12 }, [density(1, 0.95), density(0.7, 0.05)], 'note'],
  ])('needs attention only where it is visible: a size that %s', (_, sizes, densities, severity) => {
    expect(find(lay(sizes, ...densities))[0]!.severity).toBe(severity);
  });

  // From 50 % to 150 % of a size is a growth by 200 %.
  it('is described in percent of its true size, with the pieces and their shares', () => {
    const survey = lay(
      { low: 0.5, high: 1.5, off: 0.99 },
      density(1.5, 0.6, 'Back'),
      density(0.5, 0.3, 'Cushion'),
      density(9, 0.005),
    );
    const [finding] = find(survey);
    expect(finding!.seen).toEqual({
      low: 0.5,
      high: 1.5,
      percent: expect.closeTo(200),
      off: 0.99,
      densities: [
        { metresPerUv: 0.5, share: expect.closeTo(0.3 / 0.905), pieces: ['0123456789ab'] },
        { metresPerUv: 1.5, share: expect.closeTo(0.6 / 0.905), pieces: ['0123456789ab'] },
      ],
    });
    expect(finding!.message).toContain('comes out at 50 to 150 % of its true size');
    expect(finding!.message).toContain('99 % of the surface is off by more than 10 %');
    expect(finding!.message).toContain(
      '500 mm on “Cushion” (1 piece, 33 % of the surface) and 1,500 mm on “Back” (1 piece, 66 % of the surface)',
    );
    expect(finding!.message).toContain('or generate box UVs.');
    expect(finding!.severity).toBe('warning');
    expect(finding!.repairs).toEqual([{ repair: 'box-uvs', materials: ['Seat'] }]);
  });

  it('is found within one piece, too', () => {
    const [finding] = find(lay({ low: 0.8, high: 1.2, off: 0.6 }, density(1, 1)));
    expect(finding!.seen).toMatchObject({ percent: expect.closeTo(50) });
    expect(finding!.message).toContain('The density changes within one piece.');
  });

  it('offers box UVs on parts with their own maps, and says what happens to the maps', () => {
    const uneven = lay({ low: 0.5, high: 1.5, off: 1 }, density(1.5, 0.5), density(0.5, 0.5));
    const own = { use: 'normalTexture', texture: 0, image: 0 };
    const [first] = find(withMaterial(uneven, { maps: [{ ...own, texCoord: 0 }] }));
    expect(first!.severity).toBe('note');
    expect(first!.message).toContain('Box UVs move the map of the part away from where it was painted.');
    expect(first!.repairs).toEqual([{ repair: 'box-uvs', materials: ['Seat'] }]);
    // A map in other UVs than the finish's stays unchanged.
    const [second] = find(withMaterial(uneven, { maps: [{ ...own, texCoord: 1 }] }));
    expect(second!.severity).toBe('warning');
    expect(second!.message).not.toContain('painted');
    // A note is a person's choice, and box UVs are no default (list-proposals.ts).
    expect(listProposals([first!, second!])).toEqual([]);
  });
});

describe('parts without UVs', () => {
  const bare = (...sets: readonly number[]): Survey => ({
    ...good,
    primitives: sets.map((uvSets, primitive) => ({ ...good.primitives[0]!, primitive, uvSets, hasUvs: uvSets > 0 })),
  });
  const find = (survey: Survey) => findAll(check(survey), 'missing-uv');

  it('are offered box UVs: by name if none has any, and without a name if the others keep theirs', () => {
    expect(find(bare(0, 0))[0]!.repairs).toEqual([{ repair: 'box-uvs', materials: ['Seat'] }]);
    const [some] = find(bare(1, 0, 2));
    expect(some).toMatchObject({ seen: 1, repairs: [{ repair: 'box-uvs' }] });
    expect(some!.message).toMatch(/^1 of the 3 parts of “Seat” has no UVs/);
    expect(find(bare(1, 1))).toEqual([]);
  });

  it('are those without the UV set that finishes use, whatever other sets they have', () => {
    const lay = { ...good.materials[0]!.lay, texCoord: 1 };
    const [first, second] = bare(1, 2).primitives;
    const survey = { ...withMaterial(good, { lay }), primitives: [{ ...first!, hasUvs: false }, second!] };
    const [finding] = find(survey);
    expect(finding).toMatchObject({ seen: 1, repairs: [{ repair: 'box-uvs' }] });
    expect(finding!.message).toContain('no UVs in TEXCOORD_1, which its maps use');
  });

  it('count only if they are drawn', () => {
    const survey = bare(1, 0);
    const unseen = survey.primitives.map((one) => (one.uvSets === 0 ? { ...one, uses: 0 } : one));
    expect(find({ ...survey, primitives: unseen })).toEqual([]);
  });
});
