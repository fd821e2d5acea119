import { expect, it } from 'vitest';
import { describeRule, listLineChanges } from '../../../../server/core/line/describe-line.ts';
import type { Line, Rule } from '../../../../server/core/line/line.ts';

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

const BEFORE: Line = {
  line: 'FEN',
  name: 'Fenwater',
  positions: [
    { position: 'seat', label: 'Seat', options: { families: ['textile'] } },
    { position: 'legs', label: 'Legs' },
    { position: 'trim', label: 'Trim' },
  ],
  range: [
    { finish: 'OAK', status: 'current', grade: 'A' },
    { finish: 'ASH', status: 'current' },
    { finish: 'TARN', status: 'current' },
  ],
  rules: [
    { when: { position: 'seat', finish: 'OAK' }, excludes: { position: 'legs', finish: 'ASH' } },
    { when: { position: 'seat' }, sameAs: { position: 'legs' } },
  ],
};

it('finds nothing between the same, whatever order fields are written in', () => {
  const { name, line, ...rest } = BEFORE;
  expect(listLineChanges(BEFORE, { ...rest, name, line })).toEqual([]);
});

it('says of each part what was added, removed, changed and moved', () => {
  const [seat, legs, trim] = BEFORE.positions;
  const [oak, ash] = BEFORE.range;
  const after: Line = {
    ...BEFORE,
    name: 'Fenwater II',
    positions: [
      { ...legs!, label: 'Base' },
      { ...seat!, options: { families: ['leather'] } },
      { position: 'cord', label: 'Cord' },
    ],
    range: [
      { ...oak!, status: 'phase-out', lastOrder: '2031-06-30', replacedBy: 'ASH' },
      ash!,
      { finish: 'COAL', status: 'planned' },
    ],
    rules: [BEFORE.rules[1]!],
  };
  expect(trim!.position).toBe('trim');
  expect(listLineChanges(BEFORE, after)).toEqual([
    'The name changed from “Fenwater” to “Fenwater II”.',
    'The position “Cord” was added.',
    'The position “Trim” was removed.',
    'The position “Legs” was renamed “Base”.',
    'The options of the position “Seat” changed.',
    'The order of the positions changed.',
    'COAL was added to the range.',
    'TARN was removed from the range.',
    'OAK: phase-out, grade A, last order 2031-06-30, replaced by ASH; was current, grade A.',
    'A rule was removed: “Seat” in OAK never goes with “Legs” in ASH.',
  ]);
});
