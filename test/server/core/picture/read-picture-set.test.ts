import { expect, it } from 'vitest';
import { READY_SETS } from '../../../../server/core/picture/picture-set.ts';
import {
  type GivenPictureSet,
  readPictureSet,
  toGivenPictureSet,
} from '../../../../server/core/picture/read-picture-set.ts';
import type { ProblemCode } from '../../../../server/core/problems.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const LEAST: GivenPictureSet = { name: 'Set', sizes: [1024], format: 'png' };

it('fills in defaults', () => {
  expect(readPictureSet('Mine', LEAST)).toEqual({
    code: 'Mine',
    name: 'Set',
    subject: { kind: 'variants', views: ['front', 'three-quarter'] },
    frame: { sizesPx: [1024] },
    format: 'png',
    ground: 'white',
    shadow: 'with',
    fill: { minPercent: 75, maxPercent: 90 },
    scale: 'product',
    names: '{product}_{variant}_{view}_{size}',
    gs1Names: false,
    profile: 'srgb',
  });
  expect(readPictureSet('S', { ...LEAST, swatches: ['sphere'] })).toMatchObject({
    subject: { kind: 'finishes', swatches: ['sphere'] },
    shadow: 'without',
    names: '{finish}_{view}_{size}',
  });
});

it('reads the built-in sets back from their received form unchanged', () => {
  for (const set of READY_SETS) expect(readPictureSet(set.code, toGivenPictureSet(set))).toEqual(set);
  const [shop] = READY_SETS;
  expect(shop).toMatchObject({ frame: { sizesPx: [2048] }, ground: 'white', fill: { minPercent: 75, maxPercent: 90 } });
});

it('writes the colour of a ground in lower case', () => {
  expect(readPictureSet('S', { ...LEAST, ground: '#F0E0D0' }).ground).toBe('#f0e0d0');
});

const CASES: [string, Partial<GivenPictureSet>, string, ProblemCode?][] = [
  ['no size', { sizes: undefined }, ''],
  ['two kinds of size', { widthPx: 100, heightPx: 100 }, ''],
  ['half a size', { sizes: undefined, widthPx: 100 }, '/heightPx'],
  ['mm without a resolution', { sizes: undefined, widthMm: 210, heightMm: 297 }, '/ppi'],
  ['bleed on screen', { bleedMm: 3 }, '/bleedMm'],
  ['no sizes', { sizes: [] }, '/sizes'],
  ['a size twice', { sizes: [512, 512] }, '/sizes'],
  ['too small', { sizes: [31] }, '/sizes'],
  ['too large', { sizes: [8193] }, '/sizes'],
  ['too many pixels', { sizes: [8192] }, '/sizes'],
  ['half a pixel', { sizes: [512.5] }, '/sizes'],
  ['NaN', { sizes: [Number.NaN] }, '/sizes'],
  ['a print too large', { sizes: undefined, widthMm: 1000, heightMm: 1000, ppi: 300 }, '/widthMm'],
  ['a negative length', { sizes: undefined, widthMm: -210, heightMm: 297, ppi: 300 }, '/widthMm'],
  ['an unknown view', { views: ['front', 'below'] }, '/views/1'],
  ['a close-up without a slot', { views: ['slot:'] }, '/views/0'],
  ['a view twice', { views: ['front', 'front'] }, '/views'],
  ['no view', { views: [] }, '/views'],
  ['an unknown swatch', { swatches: ['tile'] }, '/swatches/0'],
  ['views and swatches', { views: ['front'], swatches: ['chip'] }, '/swatches'],
  ['a quality for a lossless format', { quality: 90 }, '/quality'],
  ['a quality of 0', { format: 'jpg', quality: 0 }, '/quality'],
  ['a transparent JPEG', { format: 'jpg', ground: 'transparent' }, '/ground'],
  ['a separate shadow in JPEG', { format: 'jpg', shadow: 'separate' }, '/shadow'],
  ['a shadow of swatches', { swatches: ['chip'], shadow: 'with' }, '/shadow'],
  ['an unknown ground', { ground: 'grey' }, '/ground'],
  ['a short hex', { ground: '#fff' }, '/ground'],
  ['a fill with its bounds exchanged', { fill: { minPercent: 90, maxPercent: 75 } }, '/fill'],
  ['more than full', { fill: { minPercent: 75, maxPercent: 101 } }, '/fill/maxPercent'],
  ['variants among swatches', { swatches: ['chip'], names: '{variant}' }, '/names'],
  ['swatches that are not square', { swatches: ['chip'], sizes: undefined, widthPx: 64, heightPx: 32 }, '/heightPx'],
  [
    'printed swatches that are not square',
    { swatches: ['chip'], sizes: undefined, widthMm: 50, heightMm: 60, ppi: 300 },
    '/heightMm',
  ],
  ['swatches too large', { swatches: ['chip'], sizes: [2049] }, '/sizes'],
  ['a scale of swatches', { swatches: ['chip'], scale: 'line' }, '/scale'],
  ['GS1 names of swatches', { swatches: ['chip'], gs1Names: true }, '/gs1Names'],
  ['an unknown field', { names: '{colour}' }, '/names', 'unknown-name-field'],
  ['a name too long', { name: 'x'.repeat(121) }, '/name', 'name-too-long'],
];

it.each(CASES)('refuses %s', async (_, given, where, code = 'invalid-picture-set') => {
  const problem = await expectRefusal(() => readPictureSet('S', { ...LEAST, ...given }), code);
  expect(problem.more.where).toBe(where);
  expect(problem.message).toMatch(/^.{20,}[.]$/);
});

it('has a code like everything else', async () => {
  await expectRefusal(() => readPictureSet('no slash/here', LEAST), 'invalid-code');
  await expectRefusal(() => readPictureSet('shop.Zip', LEAST), 'reserved-code');
});
