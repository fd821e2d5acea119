import { describe, expect, it } from 'vitest';
import { type GivenRule, readRules } from '../../../../server/core/line/read-rules.ts';
import { byFoldedCode } from '../../../support/make-finish.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { makeRuledLine, RULED_FINISHES } from '../../../support/rules.ts';

const { positions } = makeRuledLine([]);
const finishes = byFoldedCode(RULED_FINISHES);
const read = (...rules: GivenRule[]) => readRules(rules, positions, finishes);

// contract: `{when: {position, finish|tag|family}, excludes|requires|sameAs: {position, …}}`
describe('rules that are handed in', () => {
  it('are kept as they are said, with codes as they are stored', () => {
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
  ])('are refused when they say %s', async (_, rule, where) => {
    const problem = await expectRefusal(() => read(rule), 'invalid-rule');
    expect(problem.more.where).toBe(where);
  });

  it('are refused with a position or finish that is not there', async () => {
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
