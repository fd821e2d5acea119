import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { checkProductSchedule } from '../../../server/actions/check-product.ts';
import type { LoadedProduct } from '../../../server/actions/loaded-product.ts';
import { countCombinations } from '../../../server/core/combinations/count-combinations.ts';
import type { Planner } from '../../../server/core/ports/planner.ts';
import type { Slot } from '../../../server/core/product/slot.ts';
import { listScheduleFindings } from '../../../server/core/schedule/list-schedule-findings.ts';
import { packRows, unpackRows, unpackSchedule } from '../../../server/core/schedule/packed-rows.ts';
import { planCheckRows, planExpansion } from '../../../server/core/schedule/plan-rows.ts';
import { explainNoneLeft, listRuleEffects, makePairTable } from '../../../server/core/schedule/rule-effects.ts';
import type { Schedule } from '../../../server/core/schedule/schedule.ts';
import { createPlanner } from '../../../server/planning/create-planner.ts';
import { lendEngines } from '../../support/engines.ts';
import { makeHardScope } from '../../support/hard-scope.ts';
import { expectRefusal } from '../../support/refusal.ts';
import { makeScope } from '../../support/rules.ts';

// The planner gives the results of the core, from other threads.

let planner: Planner;
beforeAll(() => {
  planner = lendEngines().planner;
});
const closers: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const close of closers.splice(0)) await close();
});

const scope = makeScope([
  { when: { position: 'seat', finish: 'FELT' }, excludes: { position: 'legs', finish: 'OAK' } },
]);
const choices = { seat: 'LOOP', piping: 'LOOP', legs: 'OAK', cord: 'RAVEN' };
const standing: Schedule = {
  default: 'A',
  variants: [
    { code: 'A', name: 'First', choices },
    { code: 'B', name: 'None', choices: {} },
  ],
};

describe('the planner', () => {
  it('counts, plans check sets, expands and explains as the core does', async () => {
    const table = makePairTable(scope, { soldOnly: true });
    const packed = packRows(standing);
    expect(await planner.run({ kind: 'count', scope, explain: { standing: packed } })).toEqual({
      counted: countCombinations(table),
      effects: listRuleEffects(scope, table, standing),
    });
    expect((await planner.run({ kind: 'count', scope, explain: null })).effects).toBeNull();
    for (const of of ['pairs', 'each-finish'] as const) {
      const { planned, added } = await planner.run({ kind: 'check-set', scope, of, standing: packed });
      expect({ planned, added: unpackRows(added) }).toEqual(planCheckRows(scope, of, standing));
    }
    const request = { name: '{seat}', slots: ['seat', 'legs'] };
    const expanded = await planner.run({ kind: 'expand', scope, request, standing: packed });
    expect(unpackRows(expanded)).toEqual(planExpansion(scope, request, standing));
    const chosen = { seat: 'FELT', legs: 'OAK' };
    const none = await planner.run({ kind: 'none-left', scope, chosen });
    expect(none).toEqual(explainNoneLeft(scope, chosen));
    expect(none).toEqual(expect.any(String));
  });

  it('finds the same in a long schedule as in a short one: faults in rows, rules and names', async () => {
    const variants = Array.from({ length: 600 }, (_, i) => ({
      code: `V${i}`,
      name: i % 7 === 0 ? 'In FELT' : `Row ${i}`,
      choices: i % 5 === 0 ? {} : { ...choices, seat: i % 3 === 0 ? 'FELT' : i % 11 === 0 ? 'RAVEN' : 'LOOP' },
    }));
    const long: Schedule = { default: 'V0', variants };
    const { slots, line, finishes: library } = scope;
    const here = listScheduleFindings(long, slots as Slot[], line, library);
    expect(here.length).toBeGreaterThan(4);
    const loaded = { slots, line, finishes: { byCode: library, articles: new Map() } } as unknown as LoadedProduct;
    expect(await checkProductSchedule({ planner }, loaded, long)).toEqual(here);
    const short = { ...long, variants: variants.slice(0, 20) };
    const nowhere = { run: () => expect.fail('a short schedule goes to no other thread') };
    expect(await checkProductSchedule({ planner: nowhere }, loaded, short)).toEqual(
      listScheduleFindings(short, slots as Slot[], line, library),
    );
  });

  it('refuses as the core does', async () => {
    const expand = (request: object) => planner.run({ kind: 'expand', scope, request, standing: null });
    expect((await expectRefusal(() => expand({ limit: 2 }), 'too-many-variants')).more.expected).toBe(2);
    await expectRefusal(() => expand({ slots: ['arms'] }), 'unknown-slot');
  });

  it('leaves the event loop free: it turns while a hard check set is planned', async () => {
    const hard = makeHardScope({ slots: 8, finishes: 24, tags: 6 });
    let turns = 0;
    let counting = true;
    const turn = () => {
      turns++;
      if (counting) setTimeout(turn, 0);
    };
    turn();
    const { added } = await planner.run({ kind: 'check-set', scope: hard, of: 'pairs', standing: null });
    counting = false;
    expect(added.codes.length).toBeGreaterThan(24 * 24);
    // a calculation in this thread would let it turn once or twice
    expect(turns).toBeGreaterThan(20);
  });

  it('stops a calculation that takes too long, and does the next one', async () => {
    const own = createPlanner(undefined, 5000);
    closers.push(() => own.close());
    const hard = makeHardScope({ slots: 14, finishes: 60, tags: 7 });
    await expectRefusal(() => own.run({ kind: 'check-set', scope: hard, of: 'pairs', standing: null }), 'work-limit');
    // a busy machine may need the limit to start a new thread, but not each time
    const count = () => own.run({ kind: 'count', scope, explain: null });
    expect((await vi.waitFor(count, { timeout: 60_000 })).counted.exact).toBe(true);
  });

  it('refuses calculations when too many wait, but never the findings of a schedule', async () => {
    const own = createPlanner();
    closers.push(() => own.close());
    const hard = makeHardScope({ slots: 14, finishes: 60, tags: 7 });
    const leavers: AbortController[] = [];
    const plan = () => {
      const gone = new AbortController();
      leavers.push(gone);
      return own.run({ kind: 'check-set', scope: hard, of: 'pairs', standing: null }, gone.signal);
    };
    const runs = Array.from({ length: 60 }, () => plan().catch(({ code }: { code: string }) => code));
    await expectRefusal(plan, 'queue-full');
    const task = { kind: 'schedule-findings', scope, schedule: packRows(standing) } as const;
    const findings = own.run(task);
    // only then: they were taken while the queue was full, and how long the others take does not matter
    for (const gone of leavers) gone.abort();
    expect(await findings).toEqual(await planner.run(task));
    expect(await Promise.all(runs)).toContain('work-cancelled');
  });

  it('stops a calculation whose caller leaves, also one that still waits', async () => {
    const own = createPlanner();
    closers.push(() => own.close());
    const hard = makeHardScope({ slots: 14, finishes: 60, tags: 7 });
    const gone = new AbortController();
    const runs = Array.from({ length: 4 }, () =>
      expectRefusal(
        () => own.run({ kind: 'check-set', scope: hard, of: 'pairs', standing: null }, gone.signal),
        'work-cancelled',
      ),
    );
    await expectRefusal(() => own.run({ kind: 'count', scope, explain: null }, AbortSignal.abort()), 'work-cancelled');
    gone.abort();
    await Promise.all(runs);
    // the threads are free again
    expect((await own.run({ kind: 'count', scope, explain: null })).counted.exact).toBe(true);
  });
});

describe('packed rows', () => {
  it('are the rows again, in parts too, with keys that objects know', () => {
    const odd: Schedule = {
      default: 'A',
      variants: [
        { code: 'A', name: 'Ä', choices: { constructor: 'OAK', seat: 'oak' } },
        { code: 'B', name: 'b', choices: JSON.parse('{"__proto__": "OAK"}') },
        { code: 'C', name: 'c', choices: {} },
      ],
    };
    expect(unpackSchedule(packRows(odd))).toEqual(odd);
    expect(unpackRows(packRows(odd), 1, 2)).toEqual(odd.variants.slice(1, 2));
    expect(Object.keys(unpackRows(packRows(odd))[1]!.choices)).toEqual(['__proto__']);
    expect(unpackSchedule(packRows({ default: '', variants: [] }))).toEqual({ default: '', variants: [] });
  });
});
