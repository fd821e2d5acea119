import { describe, expect, it } from 'vitest';
import type { Line, Rule } from '../../../../server/core/line/line.ts';
import { findInSchedule, listScheduleFindings } from '../../../../server/core/schedule/list-schedule-findings.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeRuledLine, makeRuledSlots, RULED_FINISHES } from '../../../support/rules.ts';

const FINISHES = byFoldedCode(RULED_FINISHES);
const SLOTS = makeRuledSlots('seat', 'piping');

function scheduleOf(...rows: [code: string, seat: string, piping: string][]): Schedule {
  return {
    default: rows[0]![0],
    variants: rows.map(([code, seat, piping]) => ({ code, name: `${code} row`, choices: { seat, piping } })),
  };
}

const list = (schedule: Schedule, line: Line) => listScheduleFindings(schedule, SLOTS, line, FINISHES);

describe('findings of rules', () => {
  const rules: Rule[] = [
    { when: { position: 'seat', tag: 'cloth' }, excludes: { position: 'piping', family: 'leather' } },
    { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', tag: 'thick' } },
  ];

  it('are one for each rule and pair of finishes, with the variants and the rule in words', () => {
    const schedule = scheduleOf(
      ['A', 'LOOP', 'HIDE'],
      ['B', 'LOOP', 'hide'],
      ['C', 'FELT', 'HIDE'],
      ['D', 'LOOP', 'LOOP'],
      ['E', 'HIDE', 'LOOP'],
    );
    const findings = list(schedule, makeRuledLine(rules)).filter(({ code }) => code === 'rule-broken');
    expect(findings.map(({ code, severity, seen }) => ({ code, severity, seen }))).toEqual([
      { code: 'rule-broken', severity: 'error', seen: { seat: 'LOOP', piping: 'HIDE' } },
      { code: 'rule-broken', severity: 'error', seen: { seat: 'FELT', piping: 'HIDE' } },
      { code: 'rule-broken', severity: 'error', seen: { seat: 'LOOP', piping: 'LOOP' } },
    ]);
    expect(findings[0]!.message).toContain('variants A, B have both');
    expect(findings[1]!.message).toContain('variant C has both');
    expect(findings[2]!.message).toContain(
      '“The seat” in anything tagged “thick” never goes with “The piping” in anything tagged “thick”',
    );
  });

  it('are empty where the rules are kept, and without a line', () => {
    expect(list(scheduleOf(['A', 'HIDE', 'HIDE'], ['B', 'FELT', 'LOOP']), makeRuledLine(rules))).toEqual([]);
    expect(listScheduleFindings(scheduleOf(['A', 'LOOP', 'LOOP']), SLOTS, null, FINISHES)).toEqual([]);
  });

  it('name twenty pairs of one rule, and give the number of others in one more', () => {
    const finishes = Array.from({ length: 25 }, (_, i) => makeFinish(`F${i}`));
    const line: Line = {
      line: 'L',
      name: 'L',
      positions: [
        { position: 'seat', label: 'Seat' },
        { position: 'piping', label: 'Piping' },
      ],
      range: [],
      rules: [{ when: { position: 'seat' }, sameAs: { position: 'piping' } }],
    };
    const schedule = scheduleOf(
      ...finishes.map(({ finish }, i): [string, string, string] => [`V-${finish}`, finish, `F${(i + 1) % 25}`]),
    );
    const broken = listScheduleFindings(schedule, SLOTS, line, byFoldedCode(finishes)).filter(
      ({ code }) => code === 'rule-broken',
    );
    expect(broken).toHaveLength(21);
    expect(broken.at(-1)).toMatchObject({ seen: 5 });
  });
});

describe('findings of finishes that are leaving the range', () => {
  const line = makeRuledLine([], {
    range: [
      { finish: 'FELT', status: 'phase-out', lastOrder: '2031-06-30', replacedBy: 'LOOP' },
      { finish: 'LOOP', status: 'phase-out' },
      { finish: 'HIDE', status: 'discontinued', replacedBy: 'LOOP' },
    ],
  });

  it('give the last order date if there is one', () => {
    const findings = list(scheduleOf(['A', 'FELT', 'LOOP']), line);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ code: 'finish-phased-out', severity: 'note', seen: 'FELT', expected: 'LOOP' });
    expect(findings[0]!.message).toContain('2031-06-30');
  });

  it('name the replacement of a finish that has left', () => {
    const findings = list(scheduleOf(['A', 'HIDE', 'LOOP'], ['B', 'HIDE', 'HIDE']), line);
    expect(findings.map(({ code, where, seen, expected }) => ({ code, where, seen, expected }))).toEqual([
      { code: 'finish-discontinued', where: 'slot seat', seen: 'HIDE', expected: 'LOOP' },
      { code: 'finish-discontinued', where: 'slot piping', seen: 'HIDE', expected: 'LOOP' },
    ]);
    expect(findings[0]!.message).toContain('LOOP replaces it');
  });
});

describe('findings with a large library and no line', () => {
  it('are found in slices, which look at few finishes each', () => {
    let looked = 0;
    const library = Array.from({ length: 4000 }, (_, i) => {
      const made = makeFinish(`F${i}`, { name: `Fabric ${i}` });
      const get = () => {
        looked++;
        return made.finish;
      };
      return Object.defineProperty({ ...made }, 'finish', { get, enumerable: true });
    });
    const finishes = byFoldedCode(library);
    const schedule = scheduleOf(['A', 'F1', 'F2'], ['B', 'F1', 'NONE']);
    const slots = makeRuledSlots('seat', 'piping');
    const work = findInSchedule(schedule, slots, null, finishes, new Map());
    let most = 0;
    for (;;) {
      looked = 0;
      const { done, value } = work.next();
      most = Math.max(most, looked);
      if (!done) continue;
      expect(value.map(({ code }) => code)).toContain('finish-not-in-options');
      break;
    }
    expect(most).toBeLessThanOrEqual(1000);
  });
});
