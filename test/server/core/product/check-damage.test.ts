import { expect, it } from 'vitest';
import { checkDamage } from '../../../../server/core/product/check-damage.ts';
import type { Damage } from '../../../../server/core/product/damage.ts';
import type { Survey } from '../../../../server/core/product/survey.ts';
import { check, findAll, makeGoodSurvey } from '../../../support/make-model-check.ts';

const strength = (index: number, given: Partial<Damage> = {}): Damage => ({
  code: 'damaged-value',
  place: `material “Oak ${index}”`,
  what: 'occlusion texture, strength',
  where: `/materials/${index}/occlusionTexture/strength`,
  seen: '7',
  expected: 'a number from 0 to 1',
  used: '1',
  ...given,
});

it('says what stands there, what belongs there and what is used', () => {
  const [finding] = checkDamage({ damages: [strength(0)] });
  expect(finding).toMatchObject({ where: '/materials/0/occlusionTexture/strength', place: 'material “Oak 0”' });
  expect(finding!.message).toContain(
    'Material “Oak 0”: occlusion texture, strength is 7 where a number from 0 to 1 belongs; 1 is used.',
  );
});

it('makes one finding of one cause in many places, and names some of them', () => {
  const found = checkDamage({ damages: Array.from({ length: 50 }, (_, index) => strength(index)) });
  expect(found).toHaveLength(1);
  expect(found[0]).toMatchObject({
    seen: 50,
    place: 'material “Oak 0”, material “Oak 1”, material “Oak 2” and 47 more',
  });
});

it('keeps causes apart: another property, or another remedy', () => {
  const damages = [
    strength(0),
    strength(1, { what: 'normal texture, scale', where: '/materials/1/normalTexture/scale' }),
    strength(2, { used: null }),
    strength(3, { code: 'dangling-reference' }),
  ];
  expect(checkDamage({ damages })).toHaveLength(4);
});

it('leaves to these findings what the validator says of the same places', () => {
  const error = (pointer: string) => ({
    code: 'VALUE_NOT_IN_RANGE',
    severity: 0 as const,
    message: 'Out of range.',
    pointer,
  });
  const withErrors = (...pointers: string[]): Survey => {
    const survey = makeGoodSurvey();
    const validator = { ...survey.validator, errors: pointers.length, messages: pointers.map(error) };
    return { ...survey, damages: [strength(0)], validator };
  };
  const look = (survey: Survey) => findAll(check(survey), 'validator');
  const own = '/materials/0/occlusionTexture/strength';
  expect(look(withErrors(own))).toEqual([]);
  expect(look(withErrors(own, '/materials/0/occlusionTexture/strengths'))).toMatchObject([{ seen: 1 }]);
});
