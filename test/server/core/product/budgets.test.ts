import { describe, expect, it } from 'vitest';
import { BUDGETS, DEFAULT_BUDGET, findBudget, readBudget } from '../../../../server/core/product/budgets.ts';
import { expectRefusal } from '../../../support/refusal.ts';

describe('the built-in budgets', () => {
  // Khronos 3D Commerce Asset Creation Guidelines 1.0.0 (20 October 2020), table of publishing targets, row “Mobile AR
  // / 3D web catalogue”: 3 MB, 150,000 triangles, < 20 (500) draw calls, 2K textures.
  it('take the web catalogue from the Khronos table, and say that its summary differs', () => {
    const budget = findBudget('web-catalogue')!;
    expect(budget).toMatchObject({
      fileBytes: { recommended: 3_000_000, maximum: null },
      triangles: { recommended: 150_000, maximum: null },
      draws: { recommended: 20, maximum: 500 },
      texturePx: 2048,
    });
    expect(budget.source).toMatch(/5 MB and 100,000/);
  });

  // Google Merchant Center, virtual_model_link: 10 MB recommended, 15 MB at most, textures of 2K.
  it('take the AR file size from the shopping feed', () => {
    expect(findBudget('ar')).toMatchObject({
      fileBytes: { recommended: 10_000_000, maximum: 15_000_000 },
      texturePx: 2048,
    });
  });

  it('say that nobody published a budget for print', () => {
    expect(findBudget('print')!.source).toMatch(/no published source: judgement/i);
    expect(findBudget('print')).toMatchObject({ texturePx: 8192, triangles: { recommended: 2_000_000 } });
  });

  it('each name their source, and one of them is the default', () => {
    for (const { source } of BUDGETS) expect(source.length).toBeGreaterThan(40);
    expect(findBudget(DEFAULT_BUDGET)).toBeDefined();
    expect(findBudget('nobody’s')).toBeUndefined();
  });
});

describe('a studio’s own budget', () => {
  const given = {
    name: 'own-shop',
    label: 'Own shop',
    source: 'Agreed with the shop, spring.',
    fileBytes: { recommended: 4e6, maximum: 8e6 },
    triangles: { recommended: 200_000 },
    draws: { recommended: 30, maximum: null },
    texturePx: 4096,
    jpegQuality: 85,
  };

  it('is read as given, without a maximum if none is stated', () => {
    expect(readBudget(given)).toEqual({
      ...given,
      triangles: { recommended: 200_000, maximum: null },
    });
    const { source: _, jpegQuality: __, ...short } = given;
    expect(readBudget(short)).toMatchObject({ source: expect.any(String), jpegQuality: 80 });
  });

  it('is found before the built-in ones', () => {
    const own = { ...BUDGETS[0]!, name: 'own', texturePx: 1 };
    expect(findBudget('own', [own])).toBe(own);
  });

  it.each<[string, unknown]>([
    ['/', null],
    ['/', []],
    ['/name', { ...given, name: 'Own Shop' }],
    ['/name', { ...given, name: 'print' }],
    ['/name', { ...given, name: undefined }],
    ['/label', { ...given, label: 7 }],
    ['/source', { ...given, source: '' }],
    ['/source', { ...given, source: 'x'.repeat(1001) }],
    ['/fileBytes', { ...given, fileBytes: 4e6 }],
    ['/fileBytes/recommended', { ...given, fileBytes: {} }],
    ['/fileBytes/recommended', { ...given, fileBytes: { recommended: 0 } }],
    ['/fileBytes/recommended', { ...given, fileBytes: { recommended: Number.NaN } }],
    ['/fileBytes/maximum', { ...given, fileBytes: { recommended: 5, maximum: 4 } }],
    ['/fileBytes/most', { ...given, fileBytes: { recommended: 5, most: 4 } }],
    ['/triangles/recommended', { ...given, triangles: { recommended: 1.5 } }],
    ['/texturePx', { ...given, texturePx: 8 }],
    ['/texturePx', { ...given, texturePx: '2048' }],
    ['/jpegQuality', { ...given, jpegQuality: 101 }],
  ])('is refused at %s', async (where, value) => {
    const problem = await expectRefusal(() => readBudget(value), 'invalid-field');
    expect(problem.more.where).toBe(where);
    expect(problem.more.expected).toBeDefined();
    expect(problem.more.received).toBeDefined();
  });

  it('is refused if it has an unknown field', async () => {
    const problem = await expectRefusal(() => readBudget({ ...given, materials: 5 }), 'unknown-field');
    expect(problem.more.where).toBe('/materials');
  });
});
