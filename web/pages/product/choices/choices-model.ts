import { computed, type ReadonlySignal, signal } from '@preact/signals';
import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import type { RuleScope } from '../../../../server/core/line/compile-rules.ts';
import type { Line } from '../../../../server/core/line/line.ts';
import { makeChoiceGuide, type Objection } from '../../../../server/core/schedule/guide-choices.ts';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';
import type { CheckSetPreview, CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/slot.ts';
import { call, get, getErrorMessage } from '../../../api.ts';
import type { CheckSetKind } from './say-count.ts';

type Choices = Readonly<Record<string, string>>;

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
 * What options and rules say of the choices of a product. Rows are judged here, by the same rules as the service has, so
 * that a cell is answered while it is being changed.
 */
export function createChoicesModel({ path, line, columns, finishes, articles }: Given) {
  const counted = signal<CountAnswer | null>(null);
  const preview = signal<{ readonly kind: CheckSetKind; readonly set: CheckSetPreview } | null>(null);
  const previewTrouble = signal<string | null>(null);

  const scope = computed(() => toScope(line.value, columns.value, finishes.value, articles.value));
  const guide = computed(() => {
    // choices keep their identity while a row is renamed or moved
    const known = new WeakMap<Choices, readonly Objection[]>();
    return { ...makeChoiceGuide(scope.value), known };
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
    previewTrouble.value = null;
    try {
      const json = { kind, preview: true };
      const { data } = await call<CheckSetPreview>('POST', `${path}/schedule/check-set`, { json });
      preview.value = { kind, set: data };
    } catch (error) {
      previewTrouble.value = getErrorMessage(error);
    }
  }

  return { scope, guide, counted, preview, previewTrouble, explainRow, count, planCheckSet };
}

export type ChoicesModel = ReturnType<typeof createChoicesModel>;

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
