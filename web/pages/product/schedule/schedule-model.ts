import { batch, computed, signal } from '@preact/signals';
import type { CheckSetAnswer, ExpandAnswer, ScheduleAnswer } from '../../../../server/http/contracts/schedule.ts';
import { ApiProblem, call, getErrorMessage, seg } from '../../../api.ts';
import { scheduleTexts } from '../../../texts/product-schedule.ts';
import type { CheckSetKind } from './choices-model.ts';
import { type Draft, EMPTY, fromSchedule, listChanges, listRowProblems, toSchedule } from './schedule-draft.ts';

/** The open editor of a row: for the variant itself, or for the finish of one slot. */
interface OpenCell {
  readonly key: number;
  readonly slot: string | null;
}

/** Unsaved edits of schedules whose pages were closed. They return with the page. */
const unsaved = new Map<string, { readonly saved: Draft; readonly draft: Draft; readonly tag: string | null }>();

/** Whether any closed page has unsaved edits, to ask before the window closes. */
export function hasUnsavedSchedules(): boolean {
  return unsaved.size > 0;
}

/** The state of a schedule: the saved version, the draft, and the open row. */
export function createScheduleModel(product: string, onSaved: () => void) {
  const path = `/api/products/${seg(product)}/schedule`;
  const previous = unsaved.get(product);
  unsaved.delete(product);
  const saved = signal<Draft>(previous?.saved ?? EMPTY);
  const draft = signal<Draft>(previous?.draft ?? EMPTY);
  const tag = signal<string | null>(previous?.tag ?? null);
  const selected = signal<number | null>(null);
  const open = signal<OpenCell | null>(null);
  /** Whether someone else has saved a newer version. */
  const outdated = signal(false);
  const busy = signal(false);
  const problem = signal<string | null>(null);
  /** The result of the last action. */
  const message = signal<string | null>(null);
  /** False until the schedule has arrived. */
  const loaded = signal(previous !== undefined);

  const changes = computed(() => listChanges(saved.value, draft.value));
  const rowProblems = computed(() => listRowProblems(draft.value));
  const selectedRow = computed(() => {
    const { rows, defaultKey } = draft.value;
    return rows.find((row) => row.key === selected.value) ?? rows.find((row) => row.key === defaultKey) ?? null;
  });

  function applyAnswer(answer: ScheduleAnswer | null, etag: string | null): void {
    const next = answer ? fromSchedule(answer) : EMPTY;
    batch(() => {
      // keys are numbered in order, so a row that keeps its place keeps its key and stays selected
      saved.value = next;
      draft.value = next;
      tag.value = etag;
      outdated.value = false;
      problem.value = null;
      loaded.value = true;
      if (open.value && !next.rows.some((row) => row.key === open.value?.key)) open.value = null;
    });
  }

  async function load(): Promise<void> {
    try {
      const { data, etag } = await call<ScheduleAnswer>('GET', path);
      applyAnswer(data, etag);
    } catch (error) {
      if (error instanceof ApiProblem && ['not-found', 'no-schedule'].includes(error.code)) applyAnswer(null, null);
      else problem.value = getErrorMessage(error);
    }
  }

  function edit(change: (draft: Draft) => Draft): void {
    draft.value = change(draft.value);
    message.value = null;
  }

  async function run(work: () => Promise<void>): Promise<void> {
    busy.value = true;
    problem.value = null;
    message.value = null;
    try {
      await work();
    } catch (error) {
      outdated.value = error instanceof ApiProblem && error.code === 'stale-schedule';
      problem.value = outdated.value ? scheduleTexts.savedByOthers : getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  /** Saves the draft. `overwrite` replaces a version that someone else saved in the meantime. */
  const save = (overwrite = false) =>
    run(async () => {
      const selectedAt = draft.value.rows.findIndex((row) => row.key === selected.value);
      const openAt = draft.value.rows.findIndex((row) => row.key === open.value?.key);
      const { data, etag } = await call<ScheduleAnswer>('PUT', path, {
        json: toSchedule(draft.value),
        ifMatch: overwrite ? undefined : tag.value,
      });
      batch(() => {
        const slot = open.value?.slot ?? null;
        applyAnswer(data, etag);
        selected.value = draft.value.rows[selectedAt]?.key ?? null;
        const row = draft.value.rows[openAt];
        open.value = row ? { key: row.key, slot } : null;
        message.value = scheduleTexts.saved(data.variants.length);
      });
      onSaved();
    });

  const expand = (name: string, slots: readonly string[]) =>
    run(async () => {
      const json = { ...(name && { name }), slots };
      const { data, etag } = await call<ExpandAnswer>('POST', `${path}/expand`, { json, ifMatch: tag.value });
      applyAnswer(data, etag);
      message.value = describeAdded(data.added);
      onSaved();
    });

  const addCheckSet = (kind: CheckSetKind) =>
    run(async () => {
      const json = { kind };
      const { data, etag } = await call<CheckSetAnswer>('POST', `${path}/check-set`, { json, ifMatch: tag.value });
      applyAnswer(data, etag);
      message.value = describeAdded(data.added);
      onSaved();
    });

  /** Renames the saved variants whose names mention a finish they do not have. */
  const renameMisnamed = (name: string) =>
    run(async () => {
      const json = { name, misnamed: true };
      const { data, etag } = await call<ScheduleAnswer>('POST', `${path}/rename`, { json, ifMatch: tag.value });
      applyAnswer(data, etag);
      onSaved();
    });

  function discard(): void {
    batch(() => {
      draft.value = saved.value;
      outdated.value = false;
      problem.value = null;
      message.value = null;
    });
  }

  function close(): void {
    if (changes.value.any) unsaved.set(product, { saved: saved.value, draft: draft.value, tag: tag.value });
  }

  return {
    saved,
    draft,
    tag,
    selected,
    open,
    outdated,
    busy,
    problem,
    message,
    loaded,
    changes,
    rowProblems,
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

const describeAdded = (variants: number) =>
  variants === 0 ? scheduleTexts.nothingAdded : scheduleTexts.addedVariants(variants);
