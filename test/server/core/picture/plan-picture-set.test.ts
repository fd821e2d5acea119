import { expect, it } from 'vitest';
import { READY_SETS } from '../../../../server/core/picture/picture-set.ts';
import { planPictureSet, type SetVariant } from '../../../../server/core/picture/plan-picture-set.ts';
import { type GivenPictureSet, readPictureSet } from '../../../../server/core/picture/read-picture-set.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const PRODUCT = { product: 'QM-1', line: 'Quill', slots: ['seat', 'legs'], closeViews: ['seat', 'legs', 'feet'] };
const VARIANTS: SetVariant[] = [
  { code: 'V-1', name: 'Grün', choices: { legs: 'BLK', seat: 'OAK' } },
  { code: 'V-2', name: 'Blau', choices: { legs: 'BLK', seat: 'BLK' } },
];
const make = (given: Partial<GivenPictureSet>) =>
  readPictureSet('S', { name: 'Set', sizes: [512], format: 'png', views: ['front'], ...given });
const names = (given: Partial<GivenPictureSet>, variants = VARIANTS, product = PRODUCT) =>
  planPictureSet(make(given), product, variants).pictures.map(({ fileName }) => fileName);

it('plans each variant in each view and size, in that order', () => {
  expect(names({ views: ['front', 'slot:seat'], sizes: [512, 1024] })).toEqual([
    'QM-1_V-1_front_512.png',
    'QM-1_V-1_front_1024.png',
    'QM-1_V-1_slot-seat_512.png',
    'QM-1_V-1_slot-seat_1024.png',
    'QM-1_V-2_front_512.png',
    'QM-1_V-2_front_1024.png',
    'QM-1_V-2_slot-seat_512.png',
    'QM-1_V-2_slot-seat_1024.png',
  ]);
});

it('fills every field: each finish once in the order of slots, and numbers that sort', () => {
  expect(
    names({ names: '{line}-{index}_{finish}_{name}_{format}_{size}', sizes: undefined, widthPx: 640, heightPx: 480 }),
  ).toEqual(['Quill-1_OAK-BLK_Grun_png_640x480.png', 'Quill-2_BLK_Blau_png_640x480.png']);
  const twelve = Array.from({ length: 12 }, (_, i) => ({ ...VARIANTS[0]!, code: `V-${i}` }));
  const listed = names({ names: '{index}' }, twelve);
  expect([listed[0], listed[11]]).toEqual(['01.png', '12.png']);
  expect([...listed].sort()).toEqual(listed);
});

it('sizes print pictures as the paper with its bleed, as TIFF', () => {
  const print = READY_SETS.find(({ code }) => code === 'print')!;
  const { pictures } = planPictureSet(print, PRODUCT, VARIANTS.slice(0, 1));
  expect(pictures).toMatchObject([
    {
      fileName: 'QM-1_V-1_three-quarter_2551x3579.tif',
      widthPx: 2551,
      heightPx: 3579,
      bleedPx: 35,
      ppi: 300,
      layer: 'whole',
    },
  ]);
});

it('plans one swatch for each finish in use', () => {
  const swatches = READY_SETS.find(({ code }) => code === 'swatches')!;
  const { pictures } = planPictureSet(swatches, PRODUCT, VARIANTS);
  expect(pictures.map(({ fileName, of, variant }) => [fileName, of, variant])).toEqual([
    ['OAK_chip_1024.png', { finish: 'OAK' }, null],
    ['OAK_sphere_1024.png', { finish: 'OAK' }, null],
    ['BLK_chip_1024.png', { finish: 'BLK' }, null],
    ['BLK_sphere_1024.png', { finish: 'BLK' }, null],
  ]);
});

it('puts the shadow into a file of its own beside its picture', () => {
  const { pictures } = planPictureSet(make({ shadow: 'separate', ground: '#EEEEEE' }), PRODUCT, VARIANTS.slice(0, 1));
  expect(pictures.map(({ fileName, layer, ground }) => [fileName, layer, ground])).toEqual([
    ['QM-1_V-1_front_512.png', 'bare', '#eeeeee'],
    ['QM-1_V-1_front_512_shadow.png', 'shadow', 'transparent'],
  ]);
});

it('leaves out views of slots that the product lacks, and reports them', () => {
  const plan = planPictureSet(make({ views: ['front', 'slot:shade', 'slot:feet'] }), PRODUCT, VARIANTS);
  expect(plan.leftOut).toEqual(['slot:shade']);
  expect(plan.pictures.map(({ view }) => view)).toEqual(['front', 'slot:feet', 'front', 'slot:feet']);
});

it('names variants with a GTIN the GS1 way, and others by the template', () => {
  const variants = [{ ...VARIANTS[0]!, gtin: '6291041500213' }, VARIANTS[1]!];
  expect(names({ gs1Names: true, views: ['front', 'slot:seat'] }, variants)).toEqual([
    '06291041500213_A1C0.png',
    'QM-1_V-1_slot-seat_512.png',
    'QM-1_V-2_front_512.png',
    'QM-1_V-2_slot-seat_512.png',
  ]);
  expect(names({ names: '{gtin}' }, variants.slice(0, 1))).toEqual(['06291041500213.png']);
});

it('refuses duplicate names, ignoring case, and names both pictures', async () => {
  const problem = await expectRefusal(() => names({ names: '{product}_{view}' }), 'file-names-collide');
  expect(problem.message).toContain('variant V-1, front, 512 × 512 px; and variant V-2, front, 512 × 512 px');
  const inCase = VARIANTS.map((variant, i) => ({ ...variant, name: i ? 'TARN' : 'Tarn' }));
  await expectRefusal(() => names({ names: '{name}' }, inCase), 'file-names-collide');
  const oneGtin = VARIANTS.map((variant) => ({ ...variant, gtin: '6291041500213' }));
  const gs1 = await expectRefusal(() => names({ gs1Names: true }, oneGtin), 'file-names-collide');
  expect(gs1.message).toContain('own GTIN');
});

it('refuses fields without a value, and invalid GTINs', async () => {
  const missing = await expectRefusal(() => names({ names: '{gtin}' }), 'name-field-missing');
  expect(missing.message).toContain('variant V-1');
  await expectRefusal(
    () => planPictureSet(make({ names: '{line}_{variant}' }), { ...PRODUCT, line: null }, VARIANTS),
    'name-field-missing',
  );
  await expectRefusal(() => names({}, [{ ...VARIANTS[0]!, gtin: '6291041500214' }]), 'invalid-gtin');
});

it('gives the same keys for the same pictures under any names', () => {
  const keys = (template: string) =>
    planPictureSet(make({ names: template }), PRODUCT, VARIANTS).pictures.map(
      ({ fileName: _f, namedBy: _n, variant: _v, ...key }) => key,
    );
  expect(keys('{variant}')).toEqual(keys('pic-{index}'));
});
