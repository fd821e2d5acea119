import { describe, expect, it } from 'vitest';
import { checkSchedule, type Schedule, VARIANT_LIMIT } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const SLOTS = [makeSlot('seat'), makeSlot('legs'), makeSlot('screws', { fixed: true })];
const FINISHES = byFoldedCode([makeFinish('OAK'), makeFinish('ASH')]);

const row = (code: string, name: string, choices: Record<string, string> = {}) => ({ code, name, choices });
const check = (given: Schedule) => checkSchedule(given, SLOTS, FINISHES);

describe('a complete schedule', () => {
  it('is stored row for row, with codes and names in their stored form', () => {
    const kept = check({
      default: 'v2',
      variants: [row('V1', ' Oak ', { seat: 'oak', legs: 'ASH' }), row('V2', 'Cafe\u0301')],
    });
    expect(kept).toEqual({
      default: 'V2',
      variants: [row('V1', 'Oak', { seat: 'OAK', legs: 'ASH' }), row('V2', 'Caf\u00e9')],
    });
  });

  // GS1 Hong Kong's worked example of a check digit, 629104150021 → 3; see picture/gtin.test.ts
  it('stores the number of a variant as 14 digits', () => {
    const { variants } = check({
      default: 'V1',
      variants: [{ ...row('V1', 'Oak'), gtin: '629-1041 500213' }, row('V2', 'Ash')],
    });
    expect(variants).toEqual([{ ...row('V1', 'Oak'), gtin: '06291041500213' }, row('V2', 'Ash')]);
  });

  it('may have empty cells', () => {
    expect(check({ default: 'V1', variants: [row('V1', 'Bare')] }).variants[0]!.choices).toEqual({});
  });

  // Viewers pick a variant by its name, and the extension does not require unique names (KhronosGroup/glTF 77b44be,
  // extensions/2.0/Khronos/KHR_materials_variants/README.md). So ours are unique ignoring case, and never empty.
  it.each<[string, Schedule, ...Parameters<typeof expectRefusal>[1][]]>([
    ['two codes that differ in case', { default: 'V1', variants: [row('V1', 'A'), row('v1', 'B')] }, 'duplicate-code'],
    [
      'two names that differ in case',
      { default: 'V1', variants: [row('V1', 'Oak'), row('V2', 'OAK')] },
      'duplicate-name',
    ],
    [
      'two names that differ in how an accent is written',
      { default: 'V1', variants: [row('V1', 'Caf\u00e9'), row('V2', 'Cafe\u0301')] },
      'duplicate-name',
    ],
    ['an empty name', { default: 'V1', variants: [row('V1', '')] }, 'invalid-name'],
    ['a name of white space', { default: 'V1', variants: [row('V1', ' \u00a0 ')] }, 'invalid-name'],
    ['a name of 121 characters', { default: 'V1', variants: [row('V1', 'x'.repeat(121))] }, 'name-too-long'],
    ['a default that is not there', { default: 'V9', variants: [row('V1', 'A')] }, 'unknown-default'],
    ['no rows', { default: 'V1', variants: [] }, 'unknown-default'],
    ['a slot that is not there', { default: 'V1', variants: [row('V1', 'A', { arms: 'OAK' })] }, 'unknown-slot'],
    ['a fixed slot', { default: 'V1', variants: [row('V1', 'A', { screws: 'OAK' })] }, 'slot-is-fixed'],
    ['a finish that is not there', { default: 'V1', variants: [row('V1', 'A', { seat: 'TEAK' })] }, 'unknown-finish'],
    [
      'a GTIN with a wrong check digit',
      { default: 'V1', variants: [{ ...row('V1', 'A'), gtin: '6291041500214' }] },
      'invalid-gtin',
    ],
    [
      'one GTIN twice, written in two ways',
      {
        default: 'V1',
        variants: [
          { ...row('V1', 'A'), gtin: '6291041500213' },
          { ...row('V2', 'B'), gtin: '06291041500213' },
        ],
      },
      'duplicate-gtin',
    ],
    ['a code with a blank', { default: 'V 1', variants: [row('V 1', 'A')] }, 'invalid-code'],
    ['a reserved code', { default: 'current', variants: [row('Current', 'A')] }, 'reserved-code'],
  ])('is refused with %s', async (_, given, ...codes) => {
    const problem = await expectRefusal(() => check(given), ...codes);
    expect(problem.message.length).toBeGreaterThan(20);
  });

  it('says where it is wrong', async () => {
    const problem = await expectRefusal(
      () => check({ default: 'V1', variants: [row('V1', 'A'), row('V2', 'B', { seat: 'TEAK' })] }),
      'unknown-finish',
    );
    expect(problem.more.where).toBe('/variants/1/choices/seat');
    expect(problem.more.received).toBe('TEAK');
  });

  it('accepts a name of 120 characters, counted as characters and not as UTF-16 units', () => {
    const name = '\u{1f6cb}'.repeat(120);
    expect(check({ default: 'V1', variants: [row('V1', name)] }).variants[0]!.name).toBe(name);
  });

  it('is refused over the limit, with the count', async () => {
    const variants = Array.from({ length: VARIANT_LIMIT + 1 }, (_, i) => row(`V${i}`, `N ${i}`));
    const problem = await expectRefusal(() => check({ default: 'V0', variants }), 'too-many-variants');
    expect(problem.more).toMatchObject({ expected: VARIANT_LIMIT, received: VARIANT_LIMIT + 1 });
  });
});
