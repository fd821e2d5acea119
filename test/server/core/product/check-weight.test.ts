import { describe, expect, it } from 'vitest';
import { BUDGETS, type Budget } from '../../../../server/core/product/budgets.ts';
import type { Survey } from '../../../../server/core/product/survey.ts';
import { check, findAll, makeGoodSurvey } from '../../../support/make-model-check.ts';

const good = makeGoodSurvey();
const budget: Budget = {
  ...BUDGETS[0]!,
  label: 'Own',
  fileBytes: { recommended: 1000, maximum: 2000 },
  triangles: { recommended: 10, maximum: 20 },
  texturePx: 2048,
};

const heavy = (bytes: number, images: number, sidePx: number): Survey => ({
  ...good,
  bytes,
  weight: { ...good.weight, images },
  images: good.images.map((image) => ({ ...image, widthPx: sidePx, heightPx: sidePx })),
});

describe('a model against its budget', () => {
  it.each([
    [10, []],
    [11, ['note']],
    [20, ['note']],
    [21, ['warning']],
  ])('of 10 triangles, 20 at most: %d are %j', (triangles, severities) => {
    const survey = { ...good, counts: { ...good.counts, triangles } };
    expect(findAll(check(survey, { budget }), 'too-many-triangles').map(({ severity }) => severity)).toEqual(
      severities,
    );
  });

  it('stays a note beyond a recommendation without a maximum', () => {
    const survey = { ...good, counts: { ...good.counts, triangles: 1e9 } };
    const own = { ...budget, triangles: { recommended: 10, maximum: null } };
    expect(findAll(check(survey, { budget: own }), 'too-many-triangles')).toMatchObject([{ severity: 'note' }]);
  });

  // 4000 bytes of images must become 1000 (2000 less 1000 of geometry): a quarter of the area, so half the side.
  it.each([
    [5000, 4000, 2048, 1024],
    // A sixteenth would be 128 px, below the smallest proposed size.
    [66_000, 65_000, 2048, 512],
    // Images above the budget's size come down to it at least.
    [2100, 1500, 8192, 2048],
  ])('of %d bytes, %d of them images of %3$d px, is reduced to %4$d px', (bytes, images, sidePx, wantedPx) => {
    const [finding] = findAll(check(heavy(bytes, images, sidePx), { budget }), 'file-too-heavy');
    expect(finding!.repairs).toEqual([{ repair: 'fit-textures', sizePx: wantedPx }]);
    expect(finding!.message).toContain(`${wantedPx} px`);
  });

  it('proposes nothing for images that are small or light', () => {
    expect(findAll(check(heavy(5000, 4000, 512), { budget }), 'file-too-heavy')[0]!.repairs).toBeUndefined();
    expect(findAll(check(heavy(5000, 1000, 2048), { budget }), 'file-too-heavy')[0]!.repairs).toBeUndefined();
  });

  it('counts a draw for every material, and merges nothing if there are no more draws', () => {
    const survey = { ...good, counts: { ...good.counts, draws: 2 } };
    const own = { ...budget, draws: { recommended: 1, maximum: null } };
    const [finding] = findAll(check(survey, { budget: own }), 'too-many-draws');
    expect(finding!.repairs).toBeUndefined();
    expect(finding!.message).toMatch(/2 materials/);
  });

  it('counts only images in use', () => {
    const [first, second] = good.images;
    const unused = { ...first!, index: 2, widthPx: 9999, usedBy: [] };
    expect(findAll(check({ ...good, images: [first!, second!, unused] }), 'texture-too-large')).toEqual([]);
  });
});

describe('loose parts', () => {
  // More than four draws per material and more than twenty in all (common practice).
  it.each([
    [20, 1, 0],
    [21, 1, 1],
    [24, 6, 0],
    [25, 6, 1],
    [40, 10, 0],
  ])('%d draws of %d materials: %d', (draws, materials, found) => {
    const base = good.materials[0]!;
    const survey: Survey = {
      ...good,
      materials: Array.from({ length: materials }, (_, index) => ({ ...base, index, name: `M${index}` })),
      counts: { ...good.counts, draws },
    };
    expect(findAll(check(survey), 'many-pieces')).toHaveLength(found);
  });
});
