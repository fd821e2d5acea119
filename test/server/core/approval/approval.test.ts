import { describe, expect, it } from 'vitest';
import {
  type Approval,
  type Decision,
  judgeStanding,
  listVariantRevisions,
  nextRound,
} from '../../../../server/core/approval/approval.ts';
import type { StoredFinish } from '../../../../server/core/finish/finish.ts';

const finish = (code: string, revision: number): StoredFinish => ({
  finish: code,
  name: code,
  family: 'paint',
  colour: { hex: '#808080' },
  revision,
});

function decide(decision: Decision, round: number, revisions: Record<string, number>): Approval {
  return {
    subject: { finish: 'A' },
    decision,
    round,
    person: 'Ada',
    light: 'D65',
    shown: 'sample',
    revisions,
    at: '2026-01-01T00:00:00.000Z',
  };
}

// rounds of submission, and an approval that holds only for what was shown: common practice of colour approval
describe('an approval', () => {
  it('stands as it was decided last, while nothing changes', () => {
    expect(judgeStanding([], { A: 1 })).toEqual({ state: 'none', round: 0 });
    const made = [decide('submitted', 1, { A: 1 }), decide('approved', 1, { A: 1 })];
    expect(judgeStanding(made, { A: 1 })).toEqual({ state: 'approved', round: 1 });
  });

  it('lapses when the finish changes, and says which revision it was for', () => {
    const standing = judgeStanding([decide('approved', 1, { A: 1 })], { A: 2 });
    expect(standing.state).toBe('lapsed');
    expect(standing.lapsedBecause).toContain('revision 1 then, 2 now');
  });

  it('of a variant lapses when a slot takes another finish, or two slots exchange theirs', () => {
    const finishes = new Map([
      ['a', finish('A', 3)],
      ['b', finish('B', 1)],
    ]);
    const list = (choices: Record<string, string>) => listVariantRevisions({ code: 'V', name: 'V', choices }, finishes);
    const shown = list({ seat: 'A', legs: 'B' });
    expect(shown).toEqual({ 'A on seat': 3, 'B on legs': 1 });
    const approved = [decide('approved', 1, shown)];
    expect(judgeStanding(approved, list({ legs: 'B', seat: 'A' })).state).toBe('approved');
    expect(judgeStanding(approved, list({ seat: 'B', legs: 'A' })).state).toBe('lapsed');
    expect(judgeStanding(approved, list({ seat: 'A', legs: 'B', cord: 'B' })).state).toBe('lapsed');
  });

  it('a submission opens the next round, a decision belongs to the one that is open', () => {
    expect(nextRound([], 'approved')).toBe(1);
    const first = [decide('submitted', 1, { A: 1 })];
    expect(nextRound(first, 'rejected')).toBe(1);
    expect(nextRound([...first, decide('rejected', 1, { A: 1 })], 'submitted')).toBe(2);
  });
});
