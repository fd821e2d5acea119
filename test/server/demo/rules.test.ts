import { expect, it } from 'vitest';
import { toKey } from '../../../server/core/codes.ts';
import { describeRule } from '../../../server/core/line/line.ts';
import { compileRules, readRules } from '../../../server/core/line/rules.ts';
import { listBreaches } from '../../../server/core/schedule/rule-effects.ts';
import { LAMP_SCHEDULE, LINE, STOOL_SCHEDULE } from '../../../server/demo/build-demo.ts';
import { FINISHES } from '../../../server/demo/finishes.ts';
import { byFoldedCode } from '../../support/make-finish.ts';
import { makeSlot } from '../../support/make-survey.ts';

const finishes = byFoldedCode(FINISHES);
const line = {
  ...LINE,
  range: LINE.range.map((entry) => ({ ...entry, status: entry.status ?? ('current' as const) })),
};

it('the demo’s rules are well formed, and the two schedules obey them', () => {
  expect(readRules(LINE.rules, LINE.positions, finishes)).toEqual(LINE.rules);
  const slotsOf = (positions: Record<string, string>) =>
    Object.entries(positions).map(([slot, position]) => makeSlot(toKey(slot), { position }));
  const products = [
    {
      slots: slotsOf({ shade: 'shade', base: 'body', stem: 'fittings', cord: 'cord' }),
      schedule: LAMP_SCHEDULE,
    },
    { slots: slotsOf({ seat: 'seat', piping: 'piping', legs: 'legs', ring: 'fittings' }), schedule: STOOL_SCHEDULE },
  ];
  const bound = new Set<string>();
  for (const { slots, schedule } of products) {
    const rules = compileRules({ slots, line, finishes });
    for (const { code, choices } of schedule.variants) {
      for (const rule of rules) {
        if (rule.binds(choices[rule.from.slot]!)) bound.add(describeRule(rule.rule, LINE.positions));
      }
      expect({ code, breaches: listBreaches(choices, rules) }).toEqual({ code, breaches: [] });
    }
  }
  // none of them is idle: each has something to say of some row
  expect(bound.size).toBe(LINE.rules.length);
});
