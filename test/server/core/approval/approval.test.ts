import { describe, expect, it } from 'vitest';
import {
  type Approval,
  type Decision,
  judgeStanding,
  listVariantRevisions,
  nextRound,
} from '../../../../server/core/approval/approval.ts';
import type { ApprovedLook } from '../../../../server/core/approval/look.ts';
import type { StoredFinish } from '../../../../server/core/finish/finish.ts';

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

// rounds of submission, and an approval that holds only for what was shown: common practice of colour approval
describe('an approval', () => {
  it('stands as it was decided last, while its look stays, whatever revision the finish has', () => {
    expect(judgeStanding([], now({ A: 1 }))).toEqual({ state: 'none', round: 0 });
    const made = [decide('submitted', 1, { A: 1 }, lookOf('other')), decide('approved', 1, { A: 1 }, lookOf('first'))];
    expect(judgeStanding(made, now({ A: 1 }))).toEqual({ state: 'approved', round: 1 });
    expect(judgeStanding(made, now({ A: 4 }))).toEqual({ state: 'approved', round: 1 });
  });

  it('lapses when the look changes, says what changed, and stands again when that is taken back', () => {
    const made = [decide('approved', 1, { A: 1 }, lookOf('first'))];
    expect(judgeStanding(made, now({ A: 2 }, lookOf('second')))).toEqual({
      state: 'lapsed',
      round: 1,
      lapsedBecause: 'The finish A has changed.',
    });
    expect(judgeStanding(made, now({ A: 3 })).state).toBe('approved');
  });

  it('that was stored without a look lapses where a map is levelled now, since it was not then', () => {
    const made = [decide('approved', 1, { A: 1 })];
    expect(judgeStanding(made, now({ A: 1 })).state).toBe('approved');
    const standing = judgeStanding(made, now({ A: 1 }, lookOf('first'), ['A']));
    expect(standing.state).toBe('lapsed');
    expect(standing.lapsedBecause).toMatch(/colour map of A is now levelled/);
  });

  it('that was stored without a look is judged by revisions', () => {
    const standing = judgeStanding([decide('approved', 1, { A: 1 })], now({ A: 2 }));
    expect(standing.state).toBe('lapsed');
    expect(standing.lapsedBecause).toBe('A has changed: revision 1 then, 2 now.');
  });

  it('of a variant that was stored without a look lapses when slots take other finishes', () => {
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

  it('a submission opens the next round, a decision belongs to the one that is open', () => {
    expect(nextRound([], 'approved')).toBe(1);
    const first = [decide('submitted', 1, { A: 1 })];
    expect(nextRound(first, 'rejected')).toBe(1);
    expect(nextRound([...first, decide('rejected', 1, { A: 1 })], 'submitted')).toBe(2);
  });
});
