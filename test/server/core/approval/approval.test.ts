import { describe, expect, it } from 'vitest';
import {
  type Approval,
  type ApprovedLook,
  type Decision,
  describeFinishLook,
  describeKeep,
  judgeStanding,
  listLookChanges,
  listVariantRevisions,
  nextRound,
  type SlotLook,
} from '../../../../server/core/approval/approval.ts';
import type { Article, Finish, StoredFinish } from '../../../../server/core/finish/finish.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import { makeFinish } from '../../../support/make-finish.ts';

const finish = (code: string, revision: number): StoredFinish => ({
  finish: code,
  name: code,
  family: 'paint',
  colour: { hex: '#808080' },
  revision,
});

function decide(decision: Decision, round: number, revisions: Record<string, number>, look?: ApprovedLook): Approval {
  return {
    subject: { finish: 'A' },
    decision,
    round,
    person: 'Ada',
    light: 'D65',
    shown: 'sample',
    revisions,
    ...(look && { look }),
    at: '2026-01-01T00:00:00.000Z',
  };
}

const lookOf = (look: string): ApprovedLook => ({ worn: [{ finish: 'A', look }] });
const now = (revisions: Record<string, number>, look = lookOf('first'), levelled: readonly string[] = []) => ({
  revisions,
  look,
  levelled,
});

// Common practice of colour approval: rounds of submission, and an approval that is valid only for the shown look.
describe('an approval', () => {
  it('keeps its last decision while its look stays, in any revision of the finish', () => {
    expect(judgeStanding([], now({ A: 1 }))).toEqual({ state: 'none', round: 0 });
    const made = [decide('submitted', 1, { A: 1 }, lookOf('other')), decide('approved', 1, { A: 1 }, lookOf('first'))];
    expect(judgeStanding(made, now({ A: 1 }))).toEqual({ state: 'approved', round: 1 });
    expect(judgeStanding(made, now({ A: 4 }))).toEqual({ state: 'approved', round: 1 });
  });

  it('lapses when the look changes, says what changed, and is valid again when the change is undone', () => {
    const made = [decide('approved', 1, { A: 1 }, lookOf('first'))];
    expect(judgeStanding(made, now({ A: 2 }, lookOf('second')))).toEqual({
      state: 'lapsed',
      round: 1,
      lapsedBecause: 'The finish A has changed.',
    });
    expect(judgeStanding(made, now({ A: 3 })).state).toBe('approved');
  });

  it('without a stored look lapses if a map is levelled now, since it was not then', () => {
    const made = [decide('approved', 1, { A: 1 })];
    expect(judgeStanding(made, now({ A: 1 })).state).toBe('approved');
    const standing = judgeStanding(made, now({ A: 1 }, lookOf('first'), ['A']));
    expect(standing.state).toBe('lapsed');
    expect(standing.lapsedBecause).toMatch(/colour map of A is now adjusted to match the specified colour/);
  });

  it('without a stored look is judged by revisions', () => {
    const standing = judgeStanding([decide('approved', 1, { A: 1 })], now({ A: 2 }));
    expect(standing.state).toBe('lapsed');
    expect(standing.lapsedBecause).toBe('A changed from revision 1 to revision 2.');
  });

  it('of a variant without a stored look lapses when slots get other finishes', () => {
    const finishes = new Map([
      ['a', finish('A', 3)],
      ['b', finish('B', 1)],
    ]);
    const list = (choices: Record<string, string>) => listVariantRevisions({ code: 'V', name: 'V', choices }, finishes);
    const shown = list({ seat: 'A', legs: 'B' });
    expect(shown).toEqual({ 'A on seat': 3, 'B on legs': 1 });
    const approved = [decide('approved', 1, shown)];
    expect(judgeStanding(approved, now(list({ legs: 'B', seat: 'A' }))).state).toBe('approved');
    expect(judgeStanding(approved, now(list({ seat: 'B', legs: 'A' }))).state).toBe('lapsed');
    expect(judgeStanding(approved, now(list({ seat: 'A', legs: 'B', cord: 'B' }))).state).toBe('lapsed');
  });

  it('a submission opens the next round, and a decision belongs to the open round', () => {
    expect(nextRound([], 'approved')).toBe(1);
    const first = [decide('submitted', 1, { A: 1 })];
    expect(nextRound(first, 'rejected')).toBe(1);
    expect(nextRound([...first, decide('rejected', 1, { A: 1 })], 'submitted')).toBe(2);
  });
});

// The changes that must and must not end an approval: a decision is about the seen look (common practice of colour
// approval).

const article: Article = { article: 'LOOP', name: 'Loop', family: 'textile', roughness: 0.9 };
const cloth: Partial<Finish> = { family: 'textile', article: 'LOOP', colour: { hex: '#2f5d73' } };
const look = (given: Partial<Finish> = {}, of: Article | null = article) =>
  describeFinishLook(resolveFinish(makeFinish('A', { ...cloth, ...given }), of));
const MAP = 'a'.repeat(64);

describe('the look of a finish', () => {
  it.each<[string, Partial<Finish>]>([
    ['another name', { name: 'Another' }],
    ['names in other languages', { names: { de: 'Anders' } }],
    ['a note', { note: 'Ask the mill' }],
    ['tags', { tags: ['warm'] }],
    ['a supplier', { supplier: 'Mill' }],
    ['a status', { status: 'phase-out' }],
    ['companions', { companions: { cord: 'B' } }],
    ['an approved screen colour', { display: { hex: '#305e74' } }],
    ['the same roughness repeated', { roughness: 0.9 }],
  ])('is the same with %s', (_, given) => {
    expect(look(given)).toBe(look());
  });

  it.each<[string, Partial<Finish>]>([
    ['another colour', { colour: { hex: '#2f5d74' } }],
    ['another roughness', { roughness: 0.8 }],
    ['a colour map', { maps: { colour: MAP } }],
    ['a normal map', { maps: { normal: MAP } }],
    ['a sheen removed', { sheen: null }],
    ['emitted light', { emissive: { colour: '#ffffff', strength: 1 } }],
    ['another supplied material', { supplied: { file: MAP } }],
  ])('changes with %s', (_, given) => {
    expect(look(given)).not.toBe(look());
  });

  it('changes with its article, and with size and direction of its repeat', () => {
    expect(look({}, { ...article, roughness: 0.7 })).not.toBe(look());
    expect(look({}, { ...article, name: 'Loop II', composition: 'wool' })).toBe(look());
    const tiled = (tile: Finish['tile']) => look({ maps: { colour: MAP }, ...(tile && { tile }) });
    const size = { widthMm: 100, heightMm: 50 };
    expect(tiled({ ...size, widthMm: 101 })).not.toBe(tiled(size));
    expect(tiled({ ...size, grainDegrees: 90 })).not.toBe(tiled(size));
    expect(tiled({ ...size, grainDegrees: 0 })).toBe(tiled(size));
  });

  it('ignores the last digits of a figure', () => {
    expect(look({ roughness: 0.5 + 1e-9 })).toBe(look({ roughness: 0.5 }));
  });
});

it('true for the normal map equals its word', () => {
  expect(describeKeep({ keep: { ...KEEP_ALL, normal: 'part' } })).toBe(describeKeep({ keep: KEEP_ALL }));
  expect(describeKeep({ keep: { ...KEEP_ALL, normal: 'finish' } })).not.toBe(describeKeep({ keep: KEEP_ALL }));
});

it('a slot older than a setting keeps the property', () => {
  const { detail: _, wear: __, ...earlier } = KEEP_ALL;
  expect(describeKeep({ keep: earlier as typeof KEEP_ALL })).toBe(describeKeep({ keep: KEEP_ALL }));
  expect(describeKeep({ keep: { ...KEEP_ALL, wear: false } })).not.toBe(describeKeep({ keep: KEEP_ALL }));
});

describe('the changes in a variant', () => {
  const seat: SlotLook = { slot: 'seat', label: 'Seat', fixed: false, grainDegrees: 0, keeps: 'k', covers: 'c' };
  const legs: SlotLook = { ...seat, slot: 'legs', label: 'Legs' };
  const then: ApprovedLook = {
    model: { revision: 2, sha256: 'm' },
    mount: 'floor',
    worn: [
      { finish: 'OAK', look: 'o', on: seat },
      { finish: 'TARN', look: 't', on: legs },
    ],
  };
  const withSeat = (on: Partial<SlotLook>, worn: { finish?: string; look?: string } = {}): ApprovedLook => ({
    ...then,
    worn: [then.worn[1]!, { finish: 'OAK', look: 'o', ...worn, on: { ...seat, ...on } }],
  });

  it.each<[ApprovedLook, string[]]>([
    [withSeat({}), []],
    [withSeat({ label: 'Pad' }), []],
    [{ ...then, model: { revision: 5, sha256: 'm' } }, []],
    [withSeat({}, { finish: 'oak' }), []],
    [withSeat({}, { look: 'p' }), ['The finish OAK on “Seat” has changed.']],
    [withSeat({}, { finish: 'ASH' }), ['“Seat” has ASH now; it had OAK.']],
    [withSeat({ keeps: 'l' }), ['“Seat” keeps other properties of its part now.']],
    [withSeat({ grainDegrees: 90 }), ['The grain direction on “Seat” changed from 0° to 90°.']],
    [withSeat({ covers: 'd' }), ['“Seat” covers other parts of the model now.']],
    [withSeat({ fixed: true }, { look: 'p' }), ['“Seat” is fixed now and shows the model’s own material.']],
    [{ ...then, mount: 'ceiling' }, ['The mount changed from floor to ceiling.']],
    [{ ...then, model: { revision: 3, sha256: 'n' } }, ['The model changed from revision 2 to revision 3.']],
    [{ ...then, worn: [then.worn[0]!] }, ['“Legs” was removed.']],
    [
      { ...then, worn: [...then.worn, { finish: 'COAL', look: 'c', on: { ...seat, slot: 'cord', label: 'Cord' } }] },
      ['“Cord” was added.'],
    ],
  ])('are stated in words (%#)', (now, words) => {
    expect(listLookChanges(then, now)).toEqual(words);
  });

  it('of a fixed slot are none, whatever its finish does', () => {
    const fixed = withSeat({ fixed: true });
    expect(listLookChanges(fixed, withSeat({ fixed: true, keeps: 'l' }, { finish: 'ASH', look: 'a' }))).toEqual([]);
  });

  it('are one sentence for another model, whose parts have other numbers', () => {
    const other: ApprovedLook = { ...withSeat({ covers: 'd' }), model: { revision: 3, sha256: 'n' } };
    expect(listLookChanges(then, other)).toHaveLength(1);
  });
});
