import { batch, computed, effect, signal } from '@preact/signals';
import type { CheckSetAnswer, ExpandAnswer, ScheduleAnswer } from '../../../../server/http/contracts/schedule.ts';
import { ApiProblem, call, getErrorMessage, seg } from '../../../api.ts';
import { account, signedOut, whenSessionKnown } from '../../../session.ts';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { Step } from '../bench/history.ts';
import type { CheckSetKind } from './choices-model.ts';
import { dropDrafts, type KeptDraft, keepDraft, listLeftDrafts } from './kept-drafts.ts';
import { type Merge, mergeDrafts, settle } from './merge-drafts.ts';
import { openInTab, THIS_TAB } from './open-tabs.ts';
import {
  type Draft,
  describeChanges,
  EMPTY,
  fromSchedule,
  listChanges,
  listRowProblems,
  toSchedule,
} from './schedule-draft.ts';

/** A finish that is shown in cells of the selected row, while it is not chosen yet. */
interface Trial {
  readonly slots: readonly string[];
  readonly finish: string | null;
}

/** Another version that was saved in the meantime, and what clashes with the draft. */
export interface Conflict extends Merge {
  /** The tag of their version. */
  readonly tag: string | null;
  /** The version that both sides began with. */
  readonly from: { readonly tag: string | null; readonly base: Draft };
}

/** Drafts of closed pages that the browser did not keep. They return with the page. */
const unkept = new Map<string, KeptDraft>();

/** Whether any closed page has edits that only this window has, to ask before it closes. */
export function hasUnsavedSchedules(): boolean {
  return unkept.size > 0;
}

/** Edits are kept in the browser when no other has come for so long. */
const KEEP_AFTER_MS = 150;

/** The state of a schedule: the saved version, the draft, and what happens to them. */
export function createScheduleModel(
  product: string,
  onSaved: () => void,
  history: { add(step: Step): void } = { add: () => undefined },
) {
  const path = `/api/products/${seg(product)}/schedule`;
  const saved = signal<Draft>(EMPTY);
  const draft = signal<Draft>(EMPTY);
  const tag = signal<string | null>(null);
  const selected = signal<number | null>(null);
  const trial = signal<Trial | null>(null);
  const conflict = signal<Conflict | null>(null);
  const busy = signal(false);
  const problem = signal<string | null>(null);
  /** The result of the last action. */
  const message = signal<string | null>(null);
  /** Says that edits of an earlier visit are back. */
  const restored = signal<string | null>(null);
  /** False until the schedule has arrived. */
  const loaded = signal(false);
  /** Whether the edits outlive this page. */
  const kept = signal(true);

  const changes = computed(() => listChanges(saved.value, draft.value));
  const rowProblems = computed(() => listRowProblems(draft.value));
  const selectedRow = computed(() => {
    const { rows, defaultKey } = draft.value;
    return rows.find((row) => row.key === selected.value) ?? rows.find((row) => row.key === defaultKey) ?? null;
  });
  /** The choices of the selected row, with the finish that is tried. */
  const shownChoices = computed(() => {
    const choices = selectedRow.value?.choices ?? {};
    if (!trial.value) return choices;
    const { slots, finish } = trial.value;
    const tried = Object.fromEntries(slots.map((slot) => [slot, finish]));
    return Object.fromEntries(
      Object.entries({ ...choices, ...tried }).flatMap(([slot, code]) => (code === null ? [] : [[slot, code]])),
    ) as Readonly<Record<string, string>>;
  });

  const closeInTab = openInTab(product);
  /** Tabs whose kept draft is this one: this tab, and those that it took over from. */
  const owners = new Set<string | undefined>([THIS_TAB]);
  /** Drafts of other closed tabs. They come one after another, each when the one before it is saved or discarded. */
  let left: readonly KeptDraft[] = [];
  let waiting: ReturnType<typeof setTimeout> | undefined;
  const keepNow = () => {
    clearTimeout(waiting);
    if (!loaded.value || signedOut.value) return;
    if (!changes.value.any) {
      unkept.delete(product);
      void dropDrafts(product, owners);
      return;
    }
    // an open conflict is met again after a reload
    const from = conflict.value?.from ?? { tag: tag.value, base: saved.value };
    const now = { ...from, draft: draft.value };
    unkept.set(product, now);
    void keepDraft(product, now, account.value).then((did) => {
      if (did && unkept.get(product) === now) unkept.delete(product);
      kept.value = did;
      if (!did) return;
      void dropDrafts(
        product,
        [...owners].filter((owner) => owner !== THIS_TAB),
      );
    });
  };
  const stopKeeping = effect(() => {
    // read here, so that a change of any of them is kept
    void [draft.value, saved.value, conflict.value];
    if (!loaded.value) return;
    clearTimeout(waiting);
    waiting = setTimeout(keepNow, KEEP_AFTER_MS);
  });
  globalThis.addEventListener?.('pagehide', keepNow);

  function show(next: Draft, nextTag: string | null, nextDraft = next): void {
    batch(() => {
      saved.value = next;
      draft.value = nextDraft;
      tag.value = nextTag;
      conflict.value = null;
      problem.value = null;
      loaded.value = true;
    });
  }

  async function fetchSchedule(earlier: Draft): Promise<{ readonly draft: Draft; readonly tag: string | null }> {
    try {
      const { data, etag } = await call<ScheduleAnswer>('GET', path);
      return { draft: fromSchedule(data, earlier), tag: etag };
    } catch (error) {
      if (error instanceof ApiProblem && ['not-found', 'no-schedule'].includes(error.code))
        return { draft: EMPTY, tag: null };
      throw error;
    }
  }

  /** Loads the saved schedule, and the draft of an earlier visit over it. */
  async function load(): Promise<void> {
    try {
      if (!loaded.value) left = await listEarlier();
      const [earlier, ...others] = left;
      if (earlier) {
        left = others;
        await takeOver(earlier);
        return;
      }
      const now = await fetchSchedule(saved.value);
      show(now.draft, now.tag);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  async function listEarlier(): Promise<readonly KeptDraft[]> {
    await whenSessionKnown();
    const own = unkept.get(product);
    const drafts = await listLeftDrafts(product, account.value);
    // what the browser did not keep is newer than what it did
    return own ? [own, ...drafts.filter(({ owner }) => owner !== THIS_TAB)] : drafts;
  }

  /** Shows the draft of an earlier visit over the schedule as it is now. */
  async function takeOver(earlier: KeptDraft): Promise<void> {
    const now = await fetchSchedule(earlier.base);
    owners.add(earlier.owner);
    if (earlier.tag === now.tag) show(now.draft, now.tag, earlier.draft);
    else meet(earlier.base, earlier.draft, now, earlier.tag);
    restored.value = changes.value.any ? texts.restored(describeChanges(changes.value)) : null;
  }

  /** Shows the next draft of an earlier visit, once the one before it is saved or discarded. */
  async function takeOverNext(): Promise<void> {
    if (left.length === 0 || changes.value.any) return;
    await load();
  }

  /** Merges the draft with a version that someone else saved. @returns whether nothing clashes */
  function meet(
    base: Draft,
    mine: Draft,
    theirs: { readonly draft: Draft; readonly tag: string | null },
    baseTag = tag.value,
  ): boolean {
    const merge = mergeDrafts(base, mine, theirs.draft);
    const clean = merge.clashes.length === 0;
    batch(() => {
      show(merge.theirs, theirs.tag, merge.merged);
      if (!clean) conflict.value = { ...merge, tag: theirs.tag, from: { tag: baseTag, base } };
      message.value = clean ? texts.merged(merge.taken) : null;
    });
    return clean;
  }

  /** Takes the draft from one state to another. Where it has become a third one since, only the difference is applied. */
  function turn(from: Draft, to: Draft): void {
    draft.value = draft.value === from ? to : mergeDrafts(from, to, draft.value, true).merged;
    message.value = null;
  }

  /** Changes the draft in one step. @param label what is done, for undo */
  function edit(change: (draft: Draft) => Draft, label: string = texts.steps.edit): void {
    const before = draft.value;
    const after = change(before);
    message.value = null;
    if (after === before) return;
    draft.value = after;
    history.add({ label, undo: () => turn(after, before), redo: () => turn(before, after) });
  }

  /** What is stored while a conflict is open would replace their version unseen. */
  function refuseInConflict(): void {
    if (conflict.value) throw new Error(texts.settleFirst);
  }

  async function run(work: () => Promise<void>): Promise<boolean> {
    busy.value = true;
    problem.value = null;
    message.value = null;
    try {
      await work();
      return true;
    } catch (error) {
      const away = error instanceof ApiProblem && error.code === 'unreachable';
      problem.value = away && changes.value.any ? texts.serverAway(kept.value) : getErrorMessage(error);
      return false;
    } finally {
      busy.value = false;
    }
  }

  /**
   * Stores a version. The draft goes from one state to another with it; what was edited meanwhile stays on top.
   * @param next what the draft is then; the stored version itself by default
   */
  async function put(wanted: Draft, from = wanted, next?: Draft): Promise<void> {
    const json = { ...toSchedule(wanted), template: wanted.template ?? null };
    const { data, etag } = await call<ScheduleAnswer>('PUT', path, { json, ifMatch: tag.value });
    const stored = fromSchedule(data, wanted, true);
    const to = next ?? stored;
    show(stored, etag, draft.value === from ? to : mergeDrafts(from, draft.value, to, true).merged);
    message.value = next ? null : texts.saved(data.variants.length);
    onSaved();
  }

  /** Deletes the stored version, as before the first save. The draft goes from one state to another with it. */
  async function unput(from: Draft, next: Draft): Promise<void> {
    await call('DELETE', path, { ifMatch: tag.value });
    show(EMPTY, null, draft.value === from ? next : mergeDrafts(from, draft.value, next, true).merged);
    onSaved();
  }

  /** Stores an earlier version again, as a step of undo or redo. Before the first version there is none. */
  async function putAgain(wanted: Draft, from: Draft, next: Draft): Promise<void> {
    refuseInConflict();
    try {
      await (wanted.rows.length === 0 ? unput(from, next) : put(wanted, from, next));
    } catch (error) {
      if (!isStale(error)) throw error;
      const theirs = await fetchSchedule(saved.value);
      meet(saved.value, draft.value, theirs);
      throw new Error(texts.undoMet);
    }
  }

  function recordSave(before: Draft, unsaved: Draft, label: string): void {
    const after = saved.value;
    history.add({ label, undo: () => putAgain(before, after, unsaved), redo: () => putAgain(after, unsaved, after) });
  }

  const isStale = (error: unknown) => error instanceof ApiProblem && error.code === 'stale-schedule';

  let saving: Promise<boolean> | null = null;
  /** Saves the draft. A save that is under way is not begun again. */
  function save(): Promise<boolean> {
    saving ??= saveOnce().finally(() => {
      saving = null;
      void takeOverNext();
    });
    return saving;
  }

  /** Saves the draft. What someone else saved in the meantime is merged with it, unless the two clash. */
  const saveOnce = () =>
    run(async () => {
      refuseInConflict();
      if (draft.value.rows.length === 0) throw new Error(texts.needsVariant);
      if (rowProblems.value.size > 0) throw new Error(texts.fixFirst(rowProblems.value.size));
      const before = saved.value;
      const unsaved = draft.value;
      try {
        await put(unsaved);
      } catch (error) {
        if (!isStale(error)) throw error;
        const others = await fetchSchedule(before);
        if (!meet(before, draft.value, others) || rowProblems.value.size > 0) return;
        const said = message.value;
        const theirs = saved.value;
        const mergedDraft = draft.value;
        await put(mergedDraft);
        message.value = `${message.value} ${said}`;
        recordSave(theirs, mergedDraft, texts.steps.save);
        restored.value = null;
        return;
      }
      recordSave(before, unsaved, texts.steps.save);
      restored.value = null;
    });

  /** Ends a conflict with their side of some clashes, and saves. */
  async function resolve(takeTheirs: ReadonlySet<string>): Promise<void> {
    const open = conflict.value;
    if (!open) return;
    const before = draft.value;
    // with what was edited since the conflict opened
    const after = settle({ ...open, merged: before }, takeTheirs);
    batch(() => {
      draft.value = after;
      conflict.value = null;
    });
    history.add({ label: texts.steps.merge, undo: () => turn(after, before), redo: () => turn(before, after) });
    if (changes.value.any) await save();
  }

  /** Lets the service change the saved schedule. */
  const change = (
    label: string,
    ask: () => Promise<{ data: ScheduleAnswer; etag: string | null; said: string | null }>,
  ) =>
    run(async () => {
      refuseInConflict();
      const before = saved.value;
      const { data, etag, said } = await ask();
      const next = fromSchedule(data, before);
      if (changes.value.any) meet(before, draft.value, { draft: next, tag: etag });
      else show(next, etag);
      message.value = said;
      recordSave(before, before, label);
      onSaved();
    });

  const expand = (name: string, slots: readonly string[]) =>
    change(texts.steps.expand, async () => {
      const json = { ...(name && { name }), slots };
      const answer = await call<ExpandAnswer>('POST', `${path}/expand`, { json, ifMatch: tag.value });
      return { ...answer, said: describeAdded(answer.data.added) };
    });

  const addCheckSet = (kind: CheckSetKind) =>
    change(texts.steps.checkSet, async () => {
      const answer = await call<CheckSetAnswer>('POST', `${path}/check-set`, { json: { kind }, ifMatch: tag.value });
      return { ...answer, said: describeAdded(answer.data.added) };
    });

  /** Renames the saved variants whose names mention a finish they do not have. */
  const renameMisnamed = (name: string) =>
    change(texts.steps.rename, async () => {
      const json = { name, misnamed: true };
      const answer = await call<ScheduleAnswer>('POST', `${path}/rename`, { json, ifMatch: tag.value });
      return { ...answer, said: null };
    });

  function discard(): void {
    edit(() => saved.value, texts.steps.discard);
    batch(() => {
      conflict.value = null;
      problem.value = null;
      restored.value = null;
    });
    void takeOverNext();
  }

  function close(): void {
    keepNow();
    closeInTab();
    stopKeeping();
    globalThis.removeEventListener?.('pagehide', keepNow);
  }

  return {
    saved,
    draft,
    tag,
    selected,
    trial,
    conflict,
    busy,
    problem,
    message,
    restored,
    loaded,
    kept,
    changes,
    rowProblems,
    selectedRow,
    shownChoices,
    load,
    edit,
    save,
    resolve,
    expand,
    addCheckSet,
    renameMisnamed,
    discard,
    close,
  };
}

export type ScheduleModel = ReturnType<typeof createScheduleModel>;

const describeAdded = (variants: number) => (variants === 0 ? texts.nothingAdded : texts.addedVariants(variants));
