import { describe, expect, it } from 'vitest';
import type { Rule } from '../../../../server/core/line/line.ts';
import { compileRules, findCompanion, type GivenRule, readRules } from '../../../../server/core/line/rules.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { makeRuledLine, makeRuledSlots, makeScope, RULED_FINISHES } from '../../../support/rules.ts';

const EXCLUDES: Rule = { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', tag: 'thick' } };
const only = (rule: Rule) => {
  const compiled = compileRules(makeScope([rule]));
  expect(compiled).toHaveLength(1);
  return compiled[0]!;
};

// the issue: “rules between positions: excludes, requires, same-as, companions follow”
describe('a rule between two slots', () => {
  it('excludes a pair and nothing else', () => {
    const rule = only(EXCLUDES);
    expect(rule.allows('LOOP', 'loop')).toBe(false);
    expect(rule.allows('LOOP', 'FELT')).toBe(true);
    expect(rule.allows('FELT', 'LOOP')).toBe(true);
  });

  it('requires one of several where it applies, and restricts nothing else', () => {
    const rule = only({ when: { position: 'legs', family: 'wood' }, requires: { position: 'seat', tag: 'cloth' } });
    expect(rule.allows('OAK', 'HIDE')).toBe(false);
    expect(rule.allows('OAK', 'LOOP')).toBe(true);
    expect(rule.allows('BRASS', 'HIDE')).toBe(true);
  });

  it('keeps two slots the same, ignoring case', () => {
    const rule = only({ when: { position: 'seat', grade: 'C' }, sameAs: { position: 'piping' } });
    expect(rule.allows('HIDE', 'hide')).toBe(true);
    expect(rule.allows('HIDE', 'FELT')).toBe(false);
    expect(rule.allows('FELT', 'HIDE')).toBe(true);
    expect(rule.findFollower('hide')).toBe('HIDE');
    expect(rule.findFollower('FELT')).toBeUndefined();
  });

  it('makes a companion follow where the finish names one', () => {
    const rule = only({ when: { position: 'legs' }, companion: { position: 'cord' } });
    expect(rule.allows('BLACK', 'RAVEN')).toBe(true);
    expect(rule.allows('BLACK', 'FLAX')).toBe(false);
    expect(rule.allows('OAK', 'FLAX')).toBe(true);
    expect([rule.binds('BLACK'), rule.binds('OAK')]).toEqual([true, false]);
  });

  it('binds every pair of changing slots at its positions, and no product without them', () => {
    const slots = [
      makeSlot('seat-1', { position: 'seat' }),
      makeSlot('seat-2', { position: 'seat' }),
      makeSlot('piping-1', { position: 'piping' }),
      makeSlot('piping-fixed', { position: 'piping', fixed: true }),
      makeSlot('piping-gone', { position: 'piping', primitives: [] }),
      makeSlot('stray'),
    ];
    const pairs = compileRules(makeScope([EXCLUDES], { slots })).map(({ from, to }) => `${from.slot} ${to.slot}`);
    expect(pairs).toEqual(['seat-1 piping-1', 'seat-2 piping-1']);
    expect(compileRules(makeScope([EXCLUDES], { slots: makeRuledSlots('seat', 'legs') }))).toEqual([]);
    expect(compileRules(makeScope([EXCLUDES], { line: null }))).toEqual([]);
  });
});

it('uses a finish’s own companion before its article’s, position by position', () => {
  const articles = new Map([
    [
      'felt',
      { article: 'Felt', name: 'Felt', family: 'textile' as const, companions: { zip: 'ZIP-A', thread: 'THREAD-A' } },
    ],
  ]);
  const finish = makeFinish('FELT', { article: 'FELT', companions: { thread: 'THREAD-F' } });
  expect(findCompanion(finish, 'thread', articles)).toBe('THREAD-F');
  expect(findCompanion(finish, 'zip', articles)).toBe('ZIP-A');
  expect(findCompanion(finish, 'piping', articles)).toBeUndefined();
  expect(findCompanion(finish, 'constructor', articles)).toBeUndefined();
});

const { positions } = makeRuledLine([]);
const finishes = byFoldedCode(RULED_FINISHES);
const read = (...rules: GivenRule[]) => readRules(rules, positions, finishes);

// contract: `{when: {position, finish|tag|family}, excludes|requires|sameAs: {position, …}}`
describe('received rules', () => {
  it('are stored as they are, with the stored spelling of codes', () => {
    expect(
      read(
        { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', finish: 'loop' } },
        { when: { position: 'legs', finish: 'black' }, requires: { position: 'cord', family: 'textile' } },
        { when: { position: 'seat', grade: 'C' }, sameAs: { position: 'piping' } },
        { when: { position: 'legs' }, companion: { position: 'cord' } },
      ),
    ).toEqual([
      { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', finish: 'LOOP' } },
      { when: { position: 'legs', finish: 'BLACK' }, requires: { position: 'cord', family: 'textile' } },
      { when: { position: 'seat', grade: 'C' }, sameAs: { position: 'piping' } },
      { when: { position: 'legs' }, companion: { position: 'cord' } },
    ]);
  });

  it.each<[string, GivenRule, string]>([
    ['nothing', { when: { position: 'seat' } }, '/rules/0'],
    [
      'two things at once',
      { when: { position: 'seat' }, sameAs: { position: 'piping' }, companion: { position: 'cord' } },
      '/rules/0',
    ],
    [
      'a position tied to itself',
      { when: { position: 'seat' }, sameAs: { position: 'seat' } },
      '/rules/0/sameAs/position',
    ],
    [
      'finishes named in two ways',
      { when: { position: 'seat', tag: 'thick', family: 'leather' }, sameAs: { position: 'piping' } },
      '/rules/0/when',
    ],
    ['an exclusion of everything', { when: { position: 'seat' }, excludes: { position: 'legs' } }, '/rules/0/excludes'],
    ['a need of anything', { when: { position: 'seat' }, requires: { position: 'legs' } }, '/rules/0/requires'],
  ])('are refused with %s', async (_, rule, where) => {
    const problem = await expectRefusal(() => read(rule), 'invalid-rule');
    expect(problem.more.where).toBe(where);
  });

  it('are refused with an unknown position or finish', async () => {
    const position = await expectRefusal(
      () => read({ when: { position: 'seat' }, sameAs: { position: 'arms' } }),
      'unknown-position',
    );
    expect(position.more).toMatchObject({
      received: 'arms',
      where: '/rules/0/sameAs/position',
      expected: ['seat', 'piping', 'legs', 'cord'],
    });
    const finish = await expectRefusal(
      () => read({ when: { position: 'seat', finish: 'TEAK' }, requires: { position: 'legs', finish: 'OAK' } }),
      'unknown-finish',
    );
    expect(finish.more.where).toBe('/rules/0/when/finish');
  });
});
