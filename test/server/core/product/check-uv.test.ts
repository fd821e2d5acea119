import { describe, expect, it } from 'vitest';
import type { Survey, UvDensity } from '../../../../server/core/product/survey.ts';
import { check, findAll, makeGoodSurvey, withMaterial } from '../../../support/make-model-check.ts';

const good = makeGoodSurvey();
const density = (metresPerUv: number, areaM2: number, node = `Piece ${metresPerUv}`): UvDensity => ({
  metresPerUv,
  areaM2,
  count: 1,
  pieces: ['0123456789ab'],
  nodes: [node],
});
const lay = (...densities: readonly UvDensity[]): Survey => withMaterial(good, { metresPerUv: 1, maps: [], densities });
const find = (survey: Survey) => findAll(check(survey), 'uneven-density');

// a repeat more than a tenth off its true size is seen: common practice
describe('pieces of different density', () => {
  it.each<[string, readonly UvDensity[]]>([
    ['one density', [density(1, 1)]],
    ['none at all', []],
    ['up to a tenth about the mean', [density(0.92, 0.5), density(1.09, 0.5)]],
    ['trim that is off', [density(1, 0.95), density(3, 0.05)]],
    ['one piece that is the whole, whatever the mean says', [density(1.4, 1)]],
  ])('are no finding where there is %s', (_, densities) => {
    expect(find(lay(...densities))).toEqual([]);
  });

  it('are told with the pieces, their shares and the factor between the finest and the coarsest', () => {
    const [finding] = find(lay(density(1.5, 0.6, 'Back'), density(0.5, 0.3, 'Cushion'), density(9, 0.005)));
    expect(finding!.seen).toEqual({
      factor: 3,
      off: expect.closeTo(0.9 / 0.905),
      densities: [
        { metresPerUv: 0.5, share: expect.closeTo(0.3 / 0.905), pieces: ['0123456789ab'] },
        { metresPerUv: 1.5, share: expect.closeTo(0.6 / 0.905), pieces: ['0123456789ab'] },
      ],
    });
    expect(finding!.message).toContain('up to 3.0 times as large');
    expect(finding!.message).toContain(
      '500 mm on “Cushion”, 1 piece of 33 %, and 1,500 mm on “Back”, 1 piece of 66 %; 99 % of the surface is off',
    );
    expect(finding!.message).toContain('or have box UVs generated');
    expect(finding!.repairs).toEqual([{ repair: 'box-uvs', materials: ['Seat'] }]);
  });

  it('are told where they are many and small, each at a density of its own', () => {
    const many = Array.from({ length: 20 }, (_, i) => density(0.6 + i * 0.04, 0.05));
    // 0.92 to 1.08 are within a tenth, which is five of twenty
    expect(find(lay(...many))[0]!.seen).toMatchObject({
      off: expect.closeTo(0.75),
      factor: expect.closeTo(1.36 / 0.6),
    });
  });

  it('of a part with maps of its own are for whoever unwraps it, since new UVs would move those maps', () => {
    const uneven = lay(density(1.5, 0.5), density(0.5, 0.5));
    const own = { use: 'normalTexture', texture: 0, image: 0 };
    const [first] = find(withMaterial(uneven, { maps: [{ ...own, texCoord: 0 }] }));
    expect(first!.repairs).toBeUndefined();
    expect(first!.severity).toBe('note');
    expect(first!.message).not.toContain('box UVs');
    const [second] = find(withMaterial(uneven, { maps: [{ ...own, texCoord: 1 }] }));
    expect(second!.repairs).toHaveLength(1);
    expect(second!.severity).toBe('warning');
  });
});

describe('parts without UVs', () => {
  const bare = (...sets: readonly number[]): Survey => ({
    ...good,
    primitives: sets.map((uvSets, primitive) => ({ ...good.primitives[0]!, primitive, uvSets })),
  });
  const find = (survey: Survey) => findAll(check(survey), 'missing-uv');

  it('are offered box UVs: by name where none has any, and without a name where the others keep theirs', () => {
    expect(find(bare(0, 0))[0]!.repairs).toEqual([{ repair: 'box-uvs', materials: ['Seat'] }]);
    const [some] = find(bare(1, 0, 2));
    expect(some).toMatchObject({ seen: 1, repairs: [{ repair: 'box-uvs' }] });
    expect(some!.message).toMatch(/^1 of the 3 parts of “Seat” have no UVs/);
    expect(find(bare(1, 1))).toEqual([]);
  });

  it('count only where they are drawn', () => {
    const survey = bare(1, 0);
    const unseen = survey.primitives.map((one) => (one.uvSets === 0 ? { ...one, uses: 0 } : one));
    expect(find({ ...survey, primitives: unseen })).toEqual([]);
  });
});
