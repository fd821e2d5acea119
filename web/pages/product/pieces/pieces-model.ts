import { batch, computed, signal } from '@preact/signals';
import type { Piece, Survey } from '../../../../server/core/product/survey.ts';
import type { SurveyAnswer } from '../../../../server/http/contracts/survey.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';
import type { RepairsModel } from '../readiness/repairs-model.ts';
import { filterAlike, groupAlike, planSeparations, tickPieces } from './choose-pieces.ts';

/** Choosing pieces by hand, to make a slot of them. The pieces are fetched when somebody asks for them. */
export function createPiecesModel(product: string, repairs: RepairsModel) {
  const open = signal(false);
  const busy = signal(false);
  const trouble = signal<string | null>(null);
  const survey = signal<Survey | null>(null);
  const pieces = signal<readonly Piece[]>([]);
  const ticked = signal<ReadonlySet<string>>(new Set());
  const filter = signal('');
  const name = signal('');
  const said = signal<string | null>(null);

  const groups = computed(() => groupAlike(pieces.value));
  const found = computed(() => (survey.value ? filterAlike(groups.value, filter.value, survey.value) : []));

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

  /** Follows a change of the model. */
  async function follow(): Promise<void> {
    if (open.value) await load();
  }

  function tick(some: readonly Piece[], on: boolean): void {
    ticked.value = tickPieces(ticked.value, some, on);
    said.value = null;
  }

  async function separate(): Promise<void> {
    if (!survey.value) return;
    const plan = planSeparations(pieces.value, ticked.value, name.value.trim(), survey.value);
    busy.value = true;
    trouble.value = null;
    const done = await repairs.make(plan);
    batch(() => {
      busy.value = false;
      if (!done) {
        trouble.value = repairs.trouble.value?.text ?? null;
        repairs.trouble.value = null;
        return;
      }
      said.value = repairs.made.value?.reports.map(({ message }) => message).join(' ') ?? null;
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
    said,
    groups,
    found,
    toggle,
    follow,
    tick,
    separate,
  };
}

export type PiecesModel = ReturnType<typeof createPiecesModel>;
