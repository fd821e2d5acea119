import { describe, expect, it } from 'vitest';
import { describeSupplied } from '../../../../server/core/finish/describe-supplied.ts';
import type { SurveyedImage, SurveyedMaterial } from '../../../../server/core/product/survey.ts';
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

describe('what is said of a material that came with a model', () => {
  it('is its colour: factor times linear mean, as sRGB', () => {
    const factors = { baseColor: [1, 0.5, 0.2, 1], metallic: 0, roughness: 0.5 } as const;
    // IEC 61966-2-1: linear 0.215861 is the code 128 (188 for 0.5, 124 for 0.2 by the same formula)
    const linearMean = [0.2158605, 1, 1];
    expect(describeIt({ factors, maps: map(COLOUR) }, { linearMean }).colour.hex).toBe('#80bc7c');
    // a map that cannot be read counts as white, and one that is no colour map does not count
    expect(describeIt({ factors, maps: map(COLOUR) }).colour.hex).toBe('#ffbc7c');
    expect(describeIt({ factors, maps: map('emissiveTexture') }, { linearMean }).colour.hex).toBe('#ffbc7c');
  });

  it('is its roughness and metal: glTF 2.0 §3.9.2 reads them from green and blue', () => {
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
