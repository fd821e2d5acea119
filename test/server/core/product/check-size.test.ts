import { describe, expect, it } from 'vitest';
import { checkSize } from '../../../../server/core/product/check-size.ts';
import type { Product, ProductClass, Sheet } from '../../../../server/core/product/product.ts';
import { SIZE_CLASSES } from '../../../../server/core/product/size-classes.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

function check(size: Sheet | null, productClass: ProductClass, sheet: Sheet | null = null) {
  const product: Product = { code: 'P', name: 'P', line: null, class: productClass, mount: 'floor', sheet };
  return checkSize(product, makeSurvey([], [], size));
}

const metres = (widthM: number, depthM: number, heightM: number, factor = 1): Sheet => ({
  widthMm: widthM * 1000 * factor,
  depthMm: depthM * 1000 * factor,
  heightMm: heightM * 1000 * factor,
});

/** One nominal object per class, in metres: width, depth, height. Common sizes, from memory. */
const NOMINAL: Record<Exclude<ProductClass, 'none'>, [number, number, number]> = {
  'dining-chair': [0.5, 0.55, 0.82],
  armchair: [0.8, 0.8, 0.85],
  stool: [0.35, 0.35, 0.45],
  'bar-stool': [0.4, 0.4, 0.75],
  sofa: [2.2, 0.95, 0.8],
  'dining-table': [2.0, 0.9, 0.74],
  'coffee-table': [1.0, 0.6, 0.42],
  desk: [1.4, 0.7, 0.74],
  bed: [1.6, 2.1, 0.9],
  'table-lamp': [0.3, 0.3, 0.6],
  'floor-lamp': [0.4, 0.4, 1.6],
  'pendant-lamp': [0.4, 0.4, 0.5],
  mug: [0.12, 0.085, 0.095],
  bottle: [0.075, 0.075, 0.3],
  plate: [0.27, 0.27, 0.025],
};

/** How many file units make a metre when the file was written in them: 1/0.001, 1/0.01, 1/0.0254, 1/0.3048. */
const UNITS = { mm: 1000, cm: 100, inch: 39.3701, foot: 3.28084 } as const;
const classes = Object.keys(NOMINAL) as (keyof typeof NOMINAL)[];

describe('size by class', () => {
  it('knows every class', () => {
    expect(Object.keys(SIZE_CLASSES).sort()).toEqual([...classes].sort());
  });

  it.each(classes)('a nominal %s is plausible', (name) => {
    expect(check(metres(...NOMINAL[name]), name)).toEqual([]);
  });

  // EN 1729-1 and BIFMA seat heights as suppliers quote them, and furniture and lamp guides: ranges of judgement. The
  // bounds below are outside every range that was found.
  it.each(classes)('a %s twenty times as large is never plausible', (name) => {
    expect(check(metres(...NOMINAL[name], 20), name)).not.toEqual([]);
  });

  it.each(classes.flatMap((name) => Object.keys(UNITS).map((unit) => [name, unit] as const)))(
    'a %s written in %s is a unit slip that names the unit’s factor',
    (name, unit) => {
      const [finding, ...more] = check(metres(...NOMINAL[name], UNITS[unit as keyof typeof UNITS]), name);
      expect(more).toEqual([]);
      expect(finding!.code).toBe('unit-slip');
      const factors = finding!.repairs!.map((repair) => repair.factor as number);
      expect(factors.some((factor) => Math.abs(factor * UNITS[unit as keyof typeof UNITS] - 1) < 1e-3)).toBe(true);
      for (const repair of finding!.repairs!) expect(repair.repair).toBe('scale');
    },
  );

  it.each(classes)('a %s in metres read as mm names the factor 1000', (name) => {
    const [finding] = check(metres(...NOMINAL[name], 0.001), name);
    expect(finding!.code).toBe('unit-slip');
    expect(finding!.repairs!.map((repair) => repair.factor)).toContain(1000);
  });

  // an inch-sized table lamp is also plausible in centimetres: the factor cannot be told, so both are named
  it('asks when two units fit: a table lamp written in inches', () => {
    const [finding] = check(metres(0.3, 0.3, 0.6, UNITS.inch), 'table-lamp');
    const factors = finding!.repairs!.map((repair) => repair.factor as number).sort();
    expect(factors).toEqual([0.01, 0.0254]);
    expect(finding!.message).toMatch(/inch/);
    expect(finding!.message).toMatch(/cm/);
    expect(finding!.message).toMatch(/ask/i);
  });

  it('says size-implausible when no unit explains it', () => {
    const [finding] = check(metres(0.5, 0.55, 8.2), 'dining-chair');
    expect(finding!.code).toBe('size-implausible');
    expect(finding!.repairs ?? []).toEqual([]);
  });

  it('says nothing of a class without sizes, or a model without positions', () => {
    expect(check(metres(50, 50, 50), 'none')).toEqual([]);
    expect(check(null, 'stool')).toEqual([]);
  });
});

describe('size by data sheet', () => {
  const sheet = metres(0.5, 0.55, 0.82);

  it('holds over the class', () => {
    expect(check(sheet, 'mug', sheet)).toEqual([]);
    expect(check(metres(0.46, 0.55, 0.82), 'dining-chair', sheet).map(({ code }) => code)).toEqual(['size-off-sheet']);
  });

  it.each(Object.entries(UNITS))('a model in %s of the sheet’s size is a unit slip with one factor', (_, perMetre) => {
    const [finding] = check(metres(0.5, 0.55, 0.82, perMetre), 'dining-chair', sheet);
    expect(finding!.code).toBe('unit-slip');
    expect(finding!.repairs!.map((repair) => (repair.factor as number) * perMetre)).toEqual([expect.closeTo(1, 3)]);
  });
});
