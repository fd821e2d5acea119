import { batch, computed, signal } from '@preact/signals';
import type { CheckSetAnswer, ExpandAnswer, ScheduleAnswer } from '../../../server/http/contracts/schedule.ts';
import { ApiProblem, call, getErrorMessage, seg } from '../../api.ts';
import { count } from '../../format.ts';
import type { CheckSetKind } from './choices/say-count.ts';
import { listChanges, listRowTroubles } from './schedule-changes.ts';
import { type Draft, EMPTY, fromSchedule, toSchedule } from './schedule-edit.ts';

/** The row that is open under another: the variant's own, or the choice for one of its slots. */
export interface OpenCell {
  readonly key: number;
  readonly slot: string | null;
}

/** Edits of schedules whose page was left before they were saved; they are there again when one comes back. */
const leftOver = new Map<string, { readonly saved: Draft; readonly draft: Draft; readonly tag: string | null }>();

/** Whether any schedule has edits that are not saved, for asking before the window closes. */
export function hasLeftOver(): boolean {
  return leftOver.size > 0;
}

/** The state of the schedule: what is saved, what is being edited, and which row is open. */
export function createScheduleModel(product: string, onSaved: () => void) {
  const path = `/api/products/${seg(product)}/schedule`;
  const kept = leftOver.get(product);
  leftOver.delete(product);
  const saved = signal<Draft>(kept?.saved ?? EMPTY);
  const draft = signal<Draft>(kept?.draft ?? EMPTY);
  const tag = signal<string | null>(kept?.tag ?? null);
  const selected = signal<number | null>(null);
  const open = signal<OpenCell | null>(null);
  const stale = signal(false);
  const busy = signal(false);
  const trouble = signal<string | null>(null);
  const said = signal<string | null>(null);
  /** False until the first answer. */
  const loaded = signal(kept !== undefined);

  const changes = computed(() => listChanges(saved.value, draft.value));
  const rowTroubles = computed(() => listRowTroubles(draft.value));
  const selectedRow = computed(() => {
    const { rows, defaultKey } = draft.value;
    return rows.find((row) => row.key === selected.value) ?? rows.find((row) => row.key === defaultKey) ?? null;
  });

  function take(answer: ScheduleAnswer | null, etag: string | null): void {
    const next = answer ? fromSchedule(answer) : EMPTY;
    batch(() => {
      // rows keep their keys where they keep their places, so the selection stays; new ones are numbered as the service has them
      saved.value = next;
      draft.value = next;
      tag.value = etag;
      stale.value = false;
      trouble.value = null;
      loaded.value = true;
      if (open.value && !next.rows.some((row) => row.key === open.value?.key)) open.value = null;
    });
  }

  async function load(): Promise<void> {
    try {
      const { data, etag } = await call<ScheduleAnswer>('GET', path);
      take(data, etag);
    } catch (error) {
      if (error instanceof ApiProblem && ['not-found', 'no-schedule'].includes(error.code)) take(null, null);
      else trouble.value = getErrorMessage(error);
    }
  }

  function edit(change: (draft: Draft) => Draft): void {
    draft.value = change(draft.value);
    said.value = null;
  }

  async function run(work: () => Promise<void>): Promise<void> {
    busy.value = true;
    trouble.value = null;
    said.value = null;
    try {
      await work();
    } catch (error) {
      stale.value = error instanceof ApiProblem && error.code === 'stale-schedule';
      trouble.value = stale.value ? STALE : getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  /** Saves the draft; `over` saves it over what somebody else has saved meanwhile. */
  const save = (over = false) =>
    run(async () => {
      const selectedAt = draft.value.rows.findIndex((row) => row.key === selected.value);
      const openAt = draft.value.rows.findIndex((row) => row.key === open.value?.key);
      const { data, etag } = await call<ScheduleAnswer>('PUT', path, {
        json: toSchedule(draft.value),
        ifMatch: over ? null : tag.value,
      });
      batch(() => {
        const slot = open.value?.slot ?? null;
        take(data, etag);
        selected.value = draft.value.rows[selectedAt]?.key ?? null;
        const row = draft.value.rows[openAt];
        open.value = row ? { key: row.key, slot } : null;
        said.value = `Saved, ${count(data.variants.length, 'variant')}.`;
      });
      onSaved();
    });

  const expand = (name: string, slots: readonly string[]) =>
    run(async () => {
      const json = { ...(name && { name }), slots };
      const { data, etag } = await call<ExpandAnswer>('POST', `${path}/expand`, { json, ifMatch: tag.value });
      take(data, etag);
      said.value = data.added === 0 ? 'All of these were there already.' : `${count(data.added, 'variant')} added.`;
      onSaved();
    });

  const addCheckSet = (kind: CheckSetKind) =>
    run(async () => {
      const json = { kind };
      const { data, etag } = await call<CheckSetAnswer>('POST', `${path}/check-set`, { json, ifMatch: tag.value });
      take(data, etag);
      said.value = data.added === 0 ? 'All of it was there already.' : `${count(data.added, 'variant')} added.`;
      onSaved();
    });

  /** Renames the saved variants that are named after a finish they do not have. */
  const renameMisnamed = (name: string) =>
    run(async () => {
      const json = { name, misnamed: true };
      const { data, etag } = await call<ScheduleAnswer>('POST', `${path}/rename`, { json, ifMatch: tag.value });
      take(data, etag);
      onSaved();
    });

  function discard(): void {
    batch(() => {
      draft.value = saved.value;
      stale.value = false;
      trouble.value = null;
      said.value = null;
    });
  }

  function close(): void {
    if (changes.value.any) leftOver.set(product, { saved: saved.value, draft: draft.value, tag: tag.value });
  }

  return {
    saved,
    draft,
    tag,
    selected,
    open,
    stale,
    busy,
    trouble,
    said,
    loaded,
    changes,
    rowTroubles,
    selectedRow,
    load,
    edit,
    save,
    expand,
    addCheckSet,
    renameMisnamed,
    discard,
    close,
  };
}

export type ScheduleModel = ReturnType<typeof createScheduleModel>;

const STALE =
  'Somebody else has saved this schedule since you opened it. Your edits are still here: save them over the other ones, or reload and lose yours.';
