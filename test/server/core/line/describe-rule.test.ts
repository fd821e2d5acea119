import { expect, it } from 'vitest';
import { describeRule } from '../../../../server/core/line/describe-rule.ts';
import type { Rule } from '../../../../server/core/line/line.ts';

const POSITIONS = [
  { position: 'seat', label: 'Seat' },
  { position: 'piping', label: 'Piping' },
];

it.each<[Rule, string]>([
  [
    { when: { position: 'seat', finish: 'LOOP' }, excludes: { position: 'piping', tag: 'thick' } },
    '“Seat” in LOOP never goes with “Piping” in anything tagged “thick”',
  ],
  [
    { when: { position: 'seat', family: 'powder-coat' }, requires: { position: 'piping', grade: 'B' } },
    '“Seat” in any powder coat goes only with “Piping” in any finish of grade B',
  ],
  [
    { when: { position: 'seat' }, excludes: { position: 'arms', finish: 'LOOP' } },
    '“Seat” in any finish never goes with “arms” in LOOP',
  ],
  [{ when: { position: 'seat' }, sameAs: { position: 'piping' } }, '“Piping” has the same finish as “Seat”'],
  [
    { when: { position: 'seat', family: 'leather' }, companion: { position: 'piping' } },
    'where “Seat” is in any leather, “Piping” has the companion of the finish on “Seat”',
  ],
])('says %j', (rule, words) => {
  expect(describeRule(rule, POSITIONS)).toBe(words);
});
