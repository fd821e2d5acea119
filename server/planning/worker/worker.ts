import { countCombinations } from '../../core/combinations/count-combinations.ts';
import { listAlike, listNearest } from '../../core/finish/search-colours.ts';
import { unpackScope } from '../../core/line/packed-scope.ts';
import type { PlanResults, PlanTask } from '../../core/ports/planner.ts';
import type { Slot } from '../../core/product/slot.ts';
import { listScheduleFindings } from '../../core/schedule/list-schedule-findings.ts';
import { packRows, unpackSchedule } from '../../core/schedule/packed-rows.ts';
import { planCheckRows, planExpansion } from '../../core/schedule/plan-rows.ts';
import { explainNoneLeft, listRuleEffects, makePairTable } from '../../core/schedule/rule-effects.ts';
import type { Variant } from '../../core/schedule/schedule.ts';
import { serveTasks } from '../../threads/serve-tasks.ts';

export default serveTasks(run);

function run(task: PlanTask): PlanResults[keyof PlanResults] {
  switch (task.kind) {
    case 'count': {
      const { explain } = task;
      const scope = unpackScope(task.scope);
      const table = makePairTable(scope, { soldOnly: true });
      const standing = explain?.standing ? unpackSchedule(explain.standing) : null;
      return {
        counted: countCombinations(table),
        effects: explain && listRuleEffects(scope, table, standing),
      };
    }
    case 'check-set': {
      const { planned, added } = planCheckRows(
        unpackScope(task.scope),
        task.of,
        task.standing && unpackSchedule(task.standing),
      );
      return { planned, added: packAdded(added) };
    }
    case 'expand':
      return packAdded(
        planExpansion(unpackScope(task.scope), task.request, task.standing && unpackSchedule(task.standing)),
      );
    case 'schedule-findings': {
      const { slots, line, finishes, articles } = unpackScope(task.scope);
      // the checks read no more of a slot than the scope has
      return listScheduleFindings(unpackSchedule(task.schedule), slots as readonly Slot[], line, finishes, articles);
    }
    case 'none-left':
      return explainNoneLeft(unpackScope(task.scope), task.chosen);
    case 'nearest':
      return listNearest(task.colours, task.lab, task.limit);
    case 'alike':
      return listAlike(task.colours, task.deltaE, task.limit);
  }
}

const packAdded = (variants: readonly Variant[]) => packRows({ default: variants[0]?.code ?? '', variants });
