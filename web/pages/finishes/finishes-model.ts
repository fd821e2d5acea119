import { computed, signal } from '@preact/signals';
import { isHex } from '../../../server/core/colour/srgb.ts';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { Line } from '../../../server/core/line/line.ts';
import type { ArticleListAnswer, FinishAnswer, FinishListAnswer } from '../../../server/http/contracts/finish.ts';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { createChanges } from '../../parts/conflict.tsx';
import { finishesTexts as texts } from '../../texts/finishes.ts';
import { type Draft, type DraftOrProblem, resolveDraft } from './finish-draft.ts';
import { type FinishForm, findProblem, NEW_FINISH, toBody, toForm } from './finish-form.ts';
import { groupFinishes } from './group-finishes.ts';
import { createMapsModel } from './maps-model.ts';
import { createSwatchModel } from './swatch-model.ts';

/** The list of finishes, and the form of the open one. */
export function createFinishesModel() {
  const finishes = signal<readonly FinishAnswer[] | null>(null);
  const articles = signal<readonly Article[]>([]);
  const lines = signal<readonly Line[]>([]);
  const problem = signal<string | null>(null);
  /** Code of the open finish; empty for a new one, null for none. */
  const open = signal<string | null>(null);
  const form = signal<FinishForm>(NEW_FINISH);
  /** The resolved form or its first mistake, and the last valid draft, which stays visible until the form is valid again. */
  const outcome = signal<DraftOrProblem>(resolveDraft(NEW_FINISH, null, [], () => null));
  const shown = signal<Draft | null>(outcome.value.draft);
  const formProblem = signal<string | null>(null);
  const busy = signal(false);
  /** The tag of the finish in the form as it was opened; null for a new one. */
  let openedTag: string | null = null;
  const changes = createChanges(reopen);

  const search = createSearchModel();
  const maps = createMapsModel();
  const swatch = createSwatchModel(maps.findImage);
  const groups = computed(() => {
    const found = search.found.value;
    if (found?.near)
      return [{ key: 'near', title: texts.search.nearestTo(found.near), note: null, finishes: found.finishes }];
    return groupFinishes(found?.finishes ?? finishes.value ?? [], articles.value);
  });

  // values that depend on a map update once it has been measured
  maps.files.subscribe(() => {
    if (open.value !== null) updateDraft();
  });

  async function load(): Promise<void> {
    try {
      const [finishList, articleList, lineList] = await Promise.all([
        get<FinishListAnswer>('/api/finishes'),
        get<ArticleListAnswer>('/api/articles'),
        get<LineListAnswer>('/api/lines'),
      ]);
      articles.value = articleList.articles;
      lines.value = lineList.lines;
      finishes.value = finishList.finishes;
      await search.find(search.text.value);
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function openFinish(finish: FinishAnswer | null): void {
    const code = finish?.finish ?? '';
    if (open.value === code) {
      open.value = null;
      return;
    }
    form.value = finish ? toForm(finish) : NEW_FINISH;
    openedTag = finish && `"${finish.revision}"`;
    formProblem.value = null;
    changes.clear();
    shown.value = null;
    open.value = code;
    updateDraft();
  }

  /** Opens a finish from elsewhere on the page, scrolls to it and ends the search. */
  function showFinish(code: string): void {
    const finish = finishes.value?.find((candidate) => candidate.finish === code);
    if (!finish) return;
    search.type('');
    search.found.value = null;
    if (open.value !== code) openFinish(finish);
    requestAnimationFrame(() => {
      const element = document.getElementById(getElementId(code));
      element?.scrollIntoView({ block: 'start' });
      element?.querySelector('button')?.focus({ preventScroll: true });
    });
  }

  function getBefore(): FinishAnswer | null {
    return finishes.value?.find(({ finish }) => finish === open.value) ?? null;
  }

  function updateDraft(): void {
    outcome.value = resolveDraft(form.value, getBefore(), articles.value, maps.recallCodes);
    shown.value = outcome.value.draft ?? shown.value;
  }

  function change(part: Partial<FinishForm>): void {
    const next = { ...form.value, ...part };
    // the finishes of an article belong to its family
    const article = part.article ? articles.value.find((candidate) => candidate.article === part.article) : undefined;
    changes.clear();
    form.value = article ? { ...next, family: article.family } : part.family ? { ...next, article: '' } : next;
    formProblem.value = null;
    updateDraft();
  }

  /** Shows the open finish as it is stored, or closes the form of one that was deleted. */
  async function reopen(): Promise<void> {
    const code = open.value;
    await load();
    open.value = null;
    const stored = finishes.value?.find(({ finish }) => finish === code);
    if (stored) openFinish(stored);
  }

  async function run(work: (overwrite: boolean) => Promise<void>): Promise<void> {
    busy.value = true;
    formProblem.value = null;
    await changes.attempt(async (overwrite) => {
      await work(overwrite);
      open.value = null;
      await load();
    });
    busy.value = false;
  }

  async function save(): Promise<void> {
    const given = form.value;
    const before = getBefore();
    formProblem.value = findProblem(given) ?? (before ? null : checkCode(given.code));
    if (formProblem.value) return;
    await run(async (overwrite) => {
      const ifMatch = overwrite ? undefined : openedTag;
      await call('PUT', `/api/finishes/${seg(given.code)}`, { json: toBody(given, before), ifMatch });
    });
  }

  const remove = (code: string) =>
    run(async (overwrite) => {
      await call('DELETE', `/api/finishes/${seg(code)}`, { ifMatch: overwrite ? undefined : openedTag });
    });

  /** A message if another finish has this code. */
  function checkCode(code: string): string | null {
    const taken = finishes.value?.find(({ finish }) => finish.toLowerCase() === code.toLowerCase());
    return taken ? texts.codeTaken(taken.finish, taken.name) : null;
  }

  return {
    finishes,
    articles,
    lines,
    problem,
    open,
    form,
    outcome,
    shown,
    formProblem,
    busy,
    changes,
    groups,
    search,
    maps,
    swatch,
    load,
    openFinish,
    showFinish,
    change,
    save,
    remove,
  };
}

/** The element id of a finish in the list. */
export function getElementId(code: string): string {
  return `finish-${code}`;
}

export type FinishesModel = ReturnType<typeof createFinishesModel>;

interface Found {
  /** The colour that was searched for; null for a search by words. */
  readonly near: string | null;
  readonly finishes: readonly FinishAnswer[];
}

/** Most pauses between two typed letters are shorter. */
const PAUSE_MS = 200;
/** Enough to choose from, few enough to fit on a screen. */
const NEAREST_COUNT = 12;

/** Searches finishes by words, or by a colour written as `#rrggbb`. Answers to earlier input are ignored. */
function createSearchModel() {
  const text = signal('');
  /** Null without a search. */
  const found = signal<Found | null>(null);
  const problem = signal<string | null>(null);
  let waiting: ReturnType<typeof setTimeout> | undefined;

  async function find(words: string): Promise<void> {
    const typed = words.trim();
    if (typed === '') {
      found.value = null;
      return;
    }
    const near = isHex(typed) ? typed.toLowerCase() : null;
    const query = near ? `near=${encodeURIComponent(near)}&limit=${NEAREST_COUNT}` : `q=${encodeURIComponent(typed)}`;
    try {
      const { finishes } = await get<FinishListAnswer>(`/api/finishes?${query}`);
      if (text.value.trim() !== typed) return;
      found.value = { near, finishes };
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function type(words: string): void {
    text.value = words;
    clearTimeout(waiting);
    waiting = setTimeout(() => void find(words), PAUSE_MS);
  }

  return { text, found, problem, type, find };
}
