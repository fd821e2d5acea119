import { describe, expect, it } from 'vitest';
import { READY_SETS } from '../../server/core/picture/picture-set.ts';
import { readPictureSet, toGivenPictureSet } from '../../server/core/picture/read-picture-set.ts';
import type { PictureSetAnswer } from '../../server/http/contracts/picture-set.ts';
import { NEW_SET, nameExample, readForm, type SetForm, toBody, toForm } from '../../web/pages/picture-sets/set-form.ts';
import {
  describeBackground,
  describeFormat,
  describeSize,
  describeSubject,
} from '../../web/parts/describe-picture-set.ts';

const answers = READY_SETS.map(
  (set): PictureSetAnswer => ({ code: set.code, ...toGivenPictureSet(set), ready: true, replacesReady: false }),
);
const write = (part: Partial<SetForm>) => ({ ...NEW_SET, code: 'fair', name: 'Fair', ...part });
const problemOf = (part: Partial<SetForm>) => {
  const read = readForm(write(part));
  return 'problem' in read ? read.problem : null;
};

describe('the form of a picture set', () => {
  it('leaves a set unchanged when it is opened and saved', () => {
    for (const [i, set] of READY_SETS.entries()) {
      const body = toBody(toForm(answers[i]!));
      expect(readPictureSet(set.code, body)).toEqual(set);
    }
    const own = readPictureSet('own', {
      name: 'Own',
      views: ['side', 'slot:seat', 'slot:legs'],
      widthPx: 1200,
      heightPx: 800,
      format: 'webp',
      quality: 75,
      ground: '#e8e4dc',
      shadow: 'separate',
      fill: { minPercent: 60, maxPercent: 62.5 },
      scale: 'line',
      names: '{variant}-{view}',
      gs1Names: true,
    });
    const body = toBody(toForm({ code: 'own', ...toGivenPictureSet(own), ready: false, replacesReady: false }));
    expect(readPictureSet('own', body)).toEqual(own);
  });

  it('is valid once a new set has a code and a name', () => {
    expect(problemOf({})).toBeNull();
    expect(problemOf({ of: 'finishes' })).toBeNull();
    expect(readForm(NEW_SET)).toHaveProperty('problem');
  });

  it('sends no fields of another kind of set or size', () => {
    const swatches = toBody(
      write({ of: 'finishes', format: 'png', quality: '80', shadow: 'separate', gs1Names: true }),
    );
    expect(swatches).toEqual({
      name: 'Fair',
      swatches: ['chip', 'sphere'],
      sizes: [2048],
      format: 'png',
      ground: 'white',
      shadow: 'without',
    });
    expect(toBody(write({ sizing: 'print', widthMm: '100', heightMm: '50,5', bleedMm: '' }))).toMatchObject({
      widthMm: 100,
      heightMm: 50.5,
      ppi: 300,
      bleedMm: 0,
    });
    expect(toBody(write({ sizes: '512, 1024' })).sizes).toEqual([512, 1024]);
    expect(toBody(write({ closeViews: 'seat, legs' })).views).toEqual([...NEW_SET.views, 'slot:seat', 'slot:legs']);
  });

  it('names the mistake while the user types', () => {
    expect(problemOf({ sizes: 'large' })).toMatch(/whole number/);
    expect(problemOf({ sizing: 'print', widthMm: '', heightMm: '' })).toMatch(/width/);
    expect(problemOf({ ground: 'transparent' })).toMatch(/JPEG/);
    expect(problemOf({ names: '{colour}' })).toContain('{colour}');
    expect(problemOf({ views: [] })).toMatch(/Name at least one/);
    for (const part of [{ sizes: 'large' }, { quality: 'x' }, { minPercent: '' }] as const) {
      expect(problemOf(part)).not.toMatch(/undefined|null|NaN/);
    }
  });

  it('shows an example of a file name', () => {
    expect(nameExample(NEW_SET)).toBe('CHAIR-1_V01_front_2048.jpg');
    expect(nameExample(write({ of: 'finishes', format: 'tiff' }))).toBe('OAK_chip_2048.tif');
    expect(nameExample(write({ names: '{line} {index}', sizing: 'pixels', widthPx: '800', heightPx: '600' }))).toBe(
      'chairs-01.jpg',
    );
    expect(nameExample(write({ names: '{colour}' }))).toBeNull();
  });
});

it('describes a picture set', () => {
  const [shop, print, swatches] = answers.map((set) =>
    [describeSubject, describeSize, describeFormat, describeBackground].map((describe) => describe(set)),
  );
  expect(shop).toEqual([
    'Front, three-quarter, side, back',
    '2048 × 2048 px',
    'JPEG, quality 90',
    'On white, with shadow',
  ]);
  expect(print!.slice(1)).toEqual(['210 × 297 mm at 300 ppi, 3 mm bleed', 'TIFF', 'On white, with shadow']);
  expect(swatches).toEqual(['Swatches: chip, sphere', '1024 × 1024 px', 'PNG', 'Transparent']);
});
