import { describe, expect, it } from 'vitest';
import { type Line, listOptions, listRange, type Options } from '../../../../server/core/line/line.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';

// The contract's words: “{finishes?, families?, tags?, grades?}, their union within the line's range; absent means the
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

  it('of a slot narrow its position’s, and cannot widen them', () => {
    expect(list({ families: ['wood'] }, { tags: ['warm'] })).toEqual(['OAK']);
    expect(list({ families: ['wood'] }, { families: ['textile'] })).toEqual([]);
    expect(list(undefined, { grades: ['A', 'C'] })).toEqual(['WOOL', 'PAINT']);
  });

  it('of a fixed slot are none', () => {
    expect(list(undefined, null, true)).toEqual([]);
  });

  it('of a slot without a position are its own, within the range', () => {
    const line = makeLine({ finishes: [] });
    const slot = makeSlot('cord', { options: { finishes: ['ASH', 'STRAY'] } });
    expect(listOptions(slot, line, listRange(line, FINISHES)).map(({ finish }) => finish.finish)).toEqual(['ASH']);
  });

  it('carry grade and status of the range', () => {
    const line = makeLine();
    const [wool, oak] = listRange(line, FINISHES);
    expect(wool).toMatchObject({ grade: 'C', status: 'current' });
    expect(oak).toMatchObject({ grade: 'B', status: 'phase-out' });
  });

  it('of a product without a line are every finish stored', () => {
    expect(listRange(null, FINISHES).map(({ finish }) => finish.finish)).toEqual([
      'PAINT',
      'OAK',
      'ASH',
      'WOOL',
      'STRAY',
    ]);
  });
});
