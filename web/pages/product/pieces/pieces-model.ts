import { batch, computed, signal } from '@preact/signals';
import type { Piece, Survey } from '../../../../server/core/product/survey.ts';
import type { SurveyAnswer } from '../../../../server/http/contracts/survey.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';
import type { RepairsModel } from '../readiness/repairs-model.ts';
import { filterGroups, groupIdentical, planSeparations, tickPieces } from './choose-pieces.ts';

/** Choosing pieces by hand, to make a slot from them. The pieces are loaded on demand. */
export function createPiecesModel(product: string, repairs: RepairsModel) {
  const open = signal(false);
  const busy = signal(false);
  const trouble = signal<string | null>(null);
  const survey = signal<Survey | null>(null);
  const pieces = signal<readonly Piece[]>([]);
  const ticked = signal<ReadonlySet<string>>(new Set());
  const filter = signal('');
  const name = signal('');
  /** The result of the last separation. */
  const message = signal<string | null>(null);

  const groups = computed(() => groupIdentical(pieces.value));
  const found = computed(() => (survey.value ? filterGroups(groups.value, filter.value, survey.value) : []));

  async function load(): Promise<void> {
    busy.value = true;
    trouble.value = null;
    try {
      const answer = await get<SurveyAnswer>(`/api/products/${seg(product)}/survey?pieces=1`);
      batch(() => {
        survey.value = answer;
        pieces.value = answer.pieces ?? [];
        const there = new Set(pieces.value.map(({ piece }) => piece));
        ticked.value = new Set([...ticked.value].filter((piece) => there.has(piece)));
      });
    } catch (error) {
      trouble.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  function toggle(): void {
    open.value = !open.value;
    if (open.value) void load();
  }

  /** Reloads the pieces after a change of the model. */
  async function reload(): Promise<void> {
    if (open.value) await load();
  }

  function tick(some: readonly Piece[], on: boolean): void {
    ticked.value = tickPieces(ticked.value, some, on);
    message.value = null;
  }

  async function separate(): Promise<void> {
    if (!survey.value) return;
    const plan = planSeparations(pieces.value, ticked.value, name.value.trim(), survey.value);
    busy.value = true;
    trouble.value = null;
    const done = await repairs.apply(plan);
    batch(() => {
      busy.value = false;
      if (!done) {
        trouble.value = repairs.trouble.value?.text ?? null;
        repairs.trouble.value = null;
        return;
      }
      message.value = repairs.made.value?.reports.map(({ message }) => message).join(' ') ?? null;
      ticked.value = new Set();
      name.value = '';
    });
  }

  return {
    open,
    busy,
    trouble,
    survey,
    pieces,
    ticked,
    filter,
    name,
    message,
    groups,
    found,
    toggle,
    reload,
    tick,
    separate,
  };
}

export type PiecesModel = ReturnType<typeof createPiecesModel>;
