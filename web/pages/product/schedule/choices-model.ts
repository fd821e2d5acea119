import { computed, type ReadonlySignal, signal } from '@preact/signals';
import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import { type Line, listRange } from '../../../../server/core/line/line.ts';
import type { RuleScope } from '../../../../server/core/line/rules.ts';
import { makeNameCheck } from '../../../../server/core/schedule/check-names.ts';
import { makeChoiceGuide, type Objection } from '../../../../server/core/schedule/guide-choices.ts';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import type { CheckSetPreview, CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import { call, get, getErrorMessage } from '../../../api.ts';

type Choices = Readonly<Record<string, string>>;

export type CheckSetKind = 'each-finish' | 'pairs';

interface Given {
  /** Address of the product. */
  readonly path: string;
  readonly line: ReadonlySignal<Line | null>;
  /** Slots that change finish. */
  readonly columns: ReadonlySignal<readonly SlotAnswer[]>;
  /** By folded code. */
  readonly finishes: ReadonlySignal<ReadonlyMap<string, FinishAnswer>>;
  readonly articles: ReadonlySignal<readonly Article[]>;
}

/**
 * The choices that options and rules allow for a product. The browser checks rows by the same rules as the service,
 * so that the answer comes while a cell is edited.
 */
export function createChoicesModel({ path, line, columns, finishes, articles }: Given) {
  const counted = signal<CountAnswer | null>(null);
  const preview = signal<{ readonly kind: CheckSetKind; readonly set: CheckSetPreview } | null>(null);
  const previewProblem = signal<string | null>(null);

  const scope = computed(() => toScope(line.value, columns.value, finishes.value, articles.value));
  const guide = computed(() => {
    // a row that is renamed or moved keeps the same object of choices
    const known = new WeakMap<Choices, readonly Objection[]>();
    const allowed = new WeakMap<Choices, boolean>();
    return { ...makeChoiceGuide(scope.value), known, allowed };
  });

  /** Whether the chosen finishes of a row may stand together. */
  function isAllowed(choices: Choices): boolean {
    const { allowed, hasConflict } = guide.value;
    let answer = allowed.get(choices);
    if (answer === undefined) {
      answer = finishes.value.size === 0 || !hasConflict(choices);
      allowed.set(choices, answer);
    }
    return answer;
  }

  /** Finds the finish that a row's name mentions and the row does not have. */
  const nameCheck = computed(() => {
    const { slots, line: ofLine, finishes: byCode } = scope.value;
    return makeNameCheck(slots, byCode, listRange(ofLine, byCode));
  });

  function explainRow(choices: Choices): readonly Objection[] {
    const { known, explainRow: explain } = guide.value;
    const before = known.get(choices);
    if (before) return before;
    const objections = finishes.value.size === 0 ? [] : explain(choices);
    known.set(choices, objections);
    return objections;
  }

  async function count(): Promise<void> {
    counted.value = await get<CountAnswer>(`${path}/schedule/count?explain=1`);
  }

  async function planCheckSet(kind: CheckSetKind): Promise<void> {
    preview.value = null;
    previewProblem.value = null;
    try {
      const json = { kind, preview: true };
      const { data } = await call<CheckSetPreview>('POST', `${path}/schedule/check-set`, { json });
      preview.value = { kind, set: data };
    } catch (error) {
      previewProblem.value = getErrorMessage(error);
    }
  }

  return { scope, guide, counted, preview, previewProblem, explainRow, isAllowed, nameCheck, count, planCheckSet };
}

/** The slots, line, finishes and articles that rules are compiled for. */
export function toScope(
  line: Line | null,
  slots: readonly SlotAnswer[],
  finishes: ReadonlyMap<string, FinishAnswer>,
  articles: readonly Article[],
): RuleScope {
  return {
    slots: slots.map(({ primitives, ...slot }) => ({ ...slot, primitives: Array.from({ length: primitives }) })),
    line,
    finishes,
    articles: new Map(articles.map((article) => [foldCode(article.article), article])),
  };
}
