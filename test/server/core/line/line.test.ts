import { describe, expect, it } from 'vitest';
import {
  describeRule,
  type Line,
  listLineChanges,
  listOptions,
  listRange,
  type Options,
  type Rule,
} from '../../../../server/core/line/line.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';

// From the contract: “{finishes?, families?, tags?, grades?}, their union within the line's range; absent means the
// whole range”, and “a product's slot takes a position and may narrow it”.
const FINISHES = byFoldedCode([
  makeFinish('PAINT', { family: 'paint', tags: ['warm'] }),
  makeFinish('OAK', { family: 'wood', tags: ['warm', 'solid'] }),
  makeFinish('ASH', { family: 'wood', tags: ['solid'] }),
  makeFinish('WOOL', { family: 'textile' }),
  makeFinish('STRAY', { family: 'wood', tags: ['warm'] }),
]);

function makeLine(options?: Options): Line {
  return {
    line: 'L',
    name: 'Line',
    positions: [{ position: 'seat', label: 'Seat', ...(options && { options }) }],
    range: [
      { finish: 'WOOL', grade: 'C', status: 'current' },
      { finish: 'oak', grade: 'B', status: 'phase-out' },
      { finish: 'ASH', grade: 'B', status: 'current' },
      { finish: 'PAINT', grade: 'A', status: 'current' },
    ],
    rules: [],
  };
}

function list(position: Options | undefined, slot: Options | null, fixed = false): string[] {
  const line = makeLine(position);
  const range = listRange(line, FINISHES);
  return listOptions(makeSlot('seat', { position: 'seat', options: slot, fixed }), line, range).map(
    ({ finish }) => finish.finish,
  );
}

describe('options', () => {
  it('are the whole range when absent, in the range’s order, and never more than the range', () => {
    expect(list(undefined, null)).toEqual(['WOOL', 'OAK', 'ASH', 'PAINT']);
    expect(list({}, null)).toEqual(['WOOL', 'OAK', 'ASH', 'PAINT']);
  });

  it.each<[string, Options, string[]]>([
    ['a finish', { finishes: ['ash'] }, ['ASH']],
    ['a finish outside the range', { finishes: ['STRAY', 'ASH'] }, ['ASH']],
    ['a family', { families: ['wood'] }, ['OAK', 'ASH']],
    ['a tag', { tags: ['warm'] }, ['OAK', 'PAINT']],
    ['a grade', { grades: ['B'] }, ['OAK', 'ASH']],
    [
      'the union of all four',
      { finishes: ['WOOL'], families: ['paint'], tags: ['none'], grades: ['Z'] },
      ['WOOL', 'PAINT'],
    ],
    ['a union that overlaps', { families: ['wood'], tags: ['warm'] }, ['OAK', 'ASH', 'PAINT']],
    ['nothing listed', { finishes: [] }, []],
  ])('of a position by %s', (_, options, wanted) => {
    expect(list(options, null)).toEqual(wanted);
  });

  it('of a slot narrow those of its position, and cannot widen them', () => {
    expect(list({ families: ['wood'] }, { tags: ['warm'] })).toEqual(['OAK']);
    expect(list({ families: ['wood'] }, { families: ['textile'] })).toEqual([]);
    expect(list(undefined, { grades: ['A', 'C'] })).toEqual(['WOOL', 'PAINT']);
  });

  it('of a fixed slot are empty', () => {
    expect(list(undefined, null, true)).toEqual([]);
  });

  it('of a slot without a position are the slot’s own, within the range', () => {
    const line = makeLine({ finishes: [] });
    const slot = makeSlot('cord', { options: { finishes: ['ASH', 'STRAY'] } });
    expect(listOptions(slot, line, listRange(line, FINISHES)).map(({ finish }) => finish.finish)).toEqual(['ASH']);
  });

  it('have grade and status of the range', () => {
    const line = makeLine();
    const [wool, oak] = listRange(line, FINISHES);
    expect(wool).toMatchObject({ grade: 'C', status: 'current' });
    expect(oak).toMatchObject({ grade: 'B', status: 'phase-out' });
  });

  it('of a product without a line are all stored finishes', () => {
    expect(listRange(null, FINISHES).map(({ finish }) => finish.finish)).toEqual([
      'PAINT',
      'OAK',
      'ASH',
      'WOOL',
      'STRAY',
    ]);
  });
});

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
])('describes %j', (rule, words) => {
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

it('finds no change between equal lines, whatever the order of fields', () => {
  const { name, line, ...rest } = BEFORE;
  expect(listLineChanges(BEFORE, { ...rest, name, line })).toEqual([]);
});

it('lists for each part what was added, removed, changed and moved', () => {
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
