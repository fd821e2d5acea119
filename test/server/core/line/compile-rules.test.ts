import { describe, expect, it } from 'vitest';
import { compileRules, findCompanion } from '../../../../server/core/line/compile-rules.ts';
import type { Rule } from '../../../../server/core/line/line.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';
import { makeRuledSlots, makeScope } from '../../../support/rules.ts';

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

  it('requires one of several where it applies, and lets the rest be', () => {
    const rule = only({ when: { position: 'legs', family: 'wood' }, requires: { position: 'seat', tag: 'cloth' } });
    expect(rule.allows('OAK', 'HIDE')).toBe(false);
    expect(rule.allows('OAK', 'LOOP')).toBe(true);
    expect(rule.allows('BRASS', 'HIDE')).toBe(true);
  });

  it('keeps two the same, ignoring case', () => {
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

it('a finish’s own companion goes before its article’s, position by position', () => {
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
