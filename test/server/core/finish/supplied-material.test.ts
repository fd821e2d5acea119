import { describe, expect, it } from 'vitest';
import { CODE_PATTERN } from '../../../../server/core/codes.ts';
import { describeSupplied, nameSuppliedFinishes } from '../../../../server/core/finish/supplied-material.ts';
import type { SurveyedImage, SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

const [plain] = makeSurvey(['cloth'], []).materials;

function describeIt(
  material: Partial<SurveyedMaterial>,
  content: { linearMean?: readonly number[]; channels?: readonly number[] } | null = null,
  extensions: readonly string[] = [],
) {
  const channels = content?.channels?.map((mean) => ({ mean, min: 0, max: 1, spread: 0 }));
  const image = { index: 0, content: content && { ...content, channels } } as unknown as SurveyedImage;
  return describeSupplied({ ...plain!, ...material }, [image], extensions);
}

const map = (use: string) => [{ use, texture: 0, image: 0, texCoord: 0 }];
const COLOUR = 'pbrMetallicRoughness.baseColorTexture';
const METAL = 'pbrMetallicRoughness.metallicRoughnessTexture';

describe('the description of a model’s material', () => {
  it('has its colour: factor times linear mean, as sRGB', () => {
    const factors = { baseColor: [1, 0.5, 0.2, 1], metallic: 0, roughness: 0.5 } as const;
    // IEC 61966-2-1: linear 0.215861 is the code 128 (188 for 0.5, 124 for 0.2 by the same formula).
    const linearMean = [0.2158605, 1, 1];
    expect(describeIt({ factors, maps: map(COLOUR) }, { linearMean }).colour.hex).toBe('#80bc7c');
    // An unreadable map counts as white, and only a colour map counts.
    expect(describeIt({ factors, maps: map(COLOUR) }).colour.hex).toBe('#ffbc7c');
    expect(describeIt({ factors, maps: map('emissiveTexture') }, { linearMean }).colour.hex).toBe('#ffbc7c');
  });

  it('has its roughness and metalness: glTF 2.0 §3.9.2 has them in green and blue', () => {
    const factors = { baseColor: [1, 1, 1, 1], metallic: 1, roughness: 0.8 } as const;
    expect(describeIt({ factors })).toMatchObject({ roughness: 0.8, metal: true, family: 'bare-metal' });
    const dull = describeIt({ factors, maps: map(METAL) }, { channels: [1, 0.25, 0.1] });
    expect(dull).toMatchObject({ roughness: 0.2, metal: false, family: 'plastic' });
  });

  it.each([
    [['KHR_materials_sheen', 'KHR_materials_transmission'], 0, 'textile'],
    [['KHR_materials_sheen'], 1, 'textile'],
    [['KHR_materials_transmission'], 0, 'glass'],
    [['KHR_materials_clearcoat'], 1, 'bare-metal'],
    [[], 0, 'plastic'],
  ] as const)('is a guess at its family: %j and metallic %d', (extensions, metallic, family) => {
    const factors = { baseColor: [1, 1, 1, 1], metallic, roughness: 1 } as const;
    expect(describeIt({ factors }, null, extensions).family).toBe(family);
  });
});

const material = (index: number, name: string, sha256 = String(index)) => ({ index, name, sha256 });
const codes = (...args: Parameters<typeof nameSuppliedFinishes>) =>
  nameSuppliedFinishes(...args).map(({ code }) => code);

// The rules come from the contract: codes by CODE_PATTERN, unique ignoring case, some reserved; names at most 120
// characters.
describe('finishes named after materials', () => {
  it('make codes from names', () => {
    const names = ['Oak, oiled (2024)', 'Crème brûlée', '椅子', '', '-- _x', 'import', 'a'.repeat(80)];
    const made = codes(
      names.map((name, index) => material(index, name)),
      new Map(),
    );
    expect(made).toEqual([
      'Oak-oiled-2024',
      'Creme-brulee',
      'material-2',
      'material-3',
      'x',
      'import-2',
      'a'.repeat(64),
    ]);
    for (const code of made) expect(code).toMatch(new RegExp(CODE_PATTERN));
  });

  it('keep names, within the limits of a name', () => {
    const made = nameSuppliedFinishes(
      [material(0, ' Ö\tk '), material(1, ''), material(2, 'n'.repeat(200))],
      new Map(),
    );
    expect(made.map(({ name }) => name)).toEqual(['Ö k', 'material 1', 'n'.repeat(120)]);
  });

  it('number a code in use, ignoring case, and leave room for the number', () => {
    const long = 'b'.repeat(64);
    expect(codes([material(0, 'Oak'), material(1, 'OAK'), material(2, long), material(3, long)], new Map())).toEqual([
      'Oak',
      'OAK-2',
      long,
      `${'b'.repeat(56)}-2`,
    ]);
  });

  it('reuse a finish with the same material, in its own spelling', () => {
    const finishes = byFoldedCode([
      makeFinish('OAK', { supplied: { file: 'other' } }),
      makeFinish('oak-2', { supplied: { file: 'same' } }),
      makeFinish('ash'),
    ]);
    expect(
      nameSuppliedFinishes(
        [material(0, 'Oak', 'same'), material(1, 'Ash', 'ash'), material(2, 'Oak', 'same')],
        finishes,
      ),
    ).toEqual([
      { code: 'oak-2', name: 'Oak', known: true },
      { code: 'Ash-2', name: 'Ash', known: false },
      { code: 'oak-2', name: 'Oak', known: true },
    ]);
  });
});
