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
  /** The finish that was added last in this visit; it is shown above the form of the next one. */
  const added = signal<FinishAnswer | null>(null);
  /** Codes of the finishes that are ticked for a comparison. */
  const compared = signal<readonly string[]>([]);
  /** A new finish begins as a copy of this one, and keeps the fields that the form does not show. */
  let copied: FinishAnswer | null = null;
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
    if (open.value === (finish?.finish ?? '')) close();
    else if (finish) begin(toForm(finish), finish);
    else begin(NEW_FINISH, null);
  }

  /** Opens a new finish that begins as a copy, all but its code. */
  function duplicate(finish: FinishAnswer): void {
    begin({ ...toForm(finish), code: '' }, null, finish);
  }

  function begin(next: FinishForm, finish: FinishAnswer | null, copy: FinishAnswer | null = null): void {
    form.value = next;
    copied = copy;
    openedTag = finish && `"${finish.revision}"`;
    formProblem.value = null;
    added.value = null;
    changes.clear();
    shown.value = null;
    open.value = finish?.finish ?? '';
    updateDraft();
  }

  /** Closes the form. The focus goes to the button that opened it. */
  function close(): void {
    const code = open.value;
    open.value = null;
    added.value = null;
    if (code !== null) focusFinish(code);
  }

  /** Moves the focus to the button of a finish in the list, or to the one that adds a finish. */
  function focusFinish(code: string): void {
    requestAnimationFrame(() => {
      const element = document.getElementById(getElementId(code)) ?? document.getElementById(getElementId(''));
      const button = element?.querySelector('button') ?? element;
      button?.focus({ preventScroll: true });
      button?.scrollIntoView({ block: 'nearest' });
    });
  }

  /** Opens a finish from elsewhere on the page, scrolls to it and ends the search. */
  function showFinish(code: string): void {
    const finish = finishes.value?.find((candidate) => candidate.finish === code);
    if (!finish) return;
    search.type('');
    search.found.value = null;
    if (open.value !== code) openFinish(finish);
    else added.value = null;
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
    outcome.value = resolveDraft(form.value, getBefore() ?? copied, articles.value, maps.recallCodes);
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

  async function run(work: (overwrite: boolean) => Promise<void>, onDone: () => void): Promise<void> {
    busy.value = true;
    formProblem.value = null;
    await changes.attempt(async (overwrite) => {
      await work(overwrite);
      await load();
      onDone();
    });
    busy.value = false;
  }

  async function save(): Promise<void> {
    const given = form.value;
    const before = getBefore();
    formProblem.value = findProblem(given) ?? (before ? null : checkCode(given.code));
    if (formProblem.value) return;
    const body = toBody(given, before ?? copied);
    await run(
      async (overwrite) => {
        const ifMatch = overwrite ? undefined : openedTag;
        await call('PUT', `/api/finishes/${seg(given.code)}`, { json: body, ifMatch });
      },
      () => (before ? close() : beginNext(given)),
    );
  }

  /** Shows the finish that was added, and the form for the next one, which is usually of the same kind. */
  function beginNext({ code, family, article, viewing, geometry, way }: FinishForm): void {
    begin({ ...NEW_FINISH, family, article, viewing, geometry, way }, null);
    added.value = finishes.value?.find(({ finish }) => finish === code) ?? null;
    requestAnimationFrame(() => document.querySelector<HTMLElement>('.adding-finish form input')?.focus());
  }

  /** Deletes a finish. The focus goes to the next one in the list. */
  const remove = (code: string) => {
    const listed = groups.value.flatMap((group) => group.finishes.map(({ finish }) => finish));
    const at = listed.indexOf(code);
    const neighbour = listed[at + 1] ?? listed[at - 1] ?? '';
    return run(
      async (overwrite) => {
        await call('DELETE', `/api/finishes/${seg(code)}`, { ifMatch: overwrite ? undefined : openedTag });
      },
      () => {
        open.value = null;
        compared.value = compared.value.filter((each) => each !== code);
        focusFinish(neighbour);
      },
    );
  };

  /** Ticks a finish for a comparison, or takes it out. Of more than four, the first leaves. */
  function tick(code: string, on: boolean): void {
    const others = compared.value.filter((each) => each !== code);
    compared.value = on ? [...others, code].slice(-MOST_COMPARED) : others;
  }

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
    added,
    compared,
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
    duplicate,
    close,
    showFinish,
    focusFinish,
    tick,
    change,
    save,
    remove,
  };
}

/** More finishes do not fit beside each other on a sheet. */
const MOST_COMPARED = 4;

/** The element id of a finish in the list; with an empty code that of the button that adds one. */
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
