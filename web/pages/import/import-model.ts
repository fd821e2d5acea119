import { computed, signal } from '@preact/signals';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { ArticleListAnswer } from '../../../server/http/contracts/finish.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-import.ts';
import { call, get, getErrorMessage } from '../../api.ts';
import { type LineKind, listLines } from './list-lines.ts';

/** What the file does not say; empty where nothing is to be assumed. */
export interface ImportSettings {
  readonly family: string;
  readonly article: string;
  readonly illuminant: string;
  readonly observer: string;
  readonly geometry: string;
}

const NOTHING: ImportSettings = { family: '', article: '', illuminant: '', observer: '', geometry: '' };

/** Rows that are shown at once: a table of twenty thousand holds a browser up. */
const PAGE_ROWS = 200;

/** The file that is looked at, what would come of it, and what has. */
export function createImportModel() {
  const articles = signal<readonly Article[]>([]);
  const file = signal<File | null>(null);
  const settings = signal<ImportSettings>(NOTHING);
  /** Of the dry run, or of the import once it is done. */
  const answer = signal<ImportAnswer | null>(null);
  const trouble = signal<string | null>(null);
  const busy = signal(false);
  /** Whether refused lines are left out. */
  const partial = signal(false);
  const kind = signal<LineKind | 'all'>('all');
  const shown = signal(PAGE_ROWS);
  let latest = 0;

  const lines = computed(() => (answer.value ? listLines(answer.value) : []));
  const picked = computed(() =>
    kind.value === 'all' ? lines.value : lines.value.filter((line) => line.kind === kind.value),
  );

  async function load(): Promise<void> {
    try {
      articles.value = (await get<ArticleListAnswer>('/api/articles')).articles;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  /** Sends the file; of several that are under way the last one counts. */
  async function send(how: 'dry' | 'store'): Promise<void> {
    const sent = file.value;
    if (!sent) return;
    const turn = ++latest;
    busy.value = true;
    trouble.value = null;
    try {
      const { data } = await call<ImportAnswer>('POST', `/api/finishes/import${makeQuery(how)}`, {
        bytes: { data: sent, mediaType: getMediaType(sent.name) },
      });
      if (turn !== latest) return;
      answer.value = data;
      if (how === 'store' && !data.stored) {
        trouble.value = 'Nothing was imported: the finishes have changed meanwhile, and a line is refused now.';
      }
    } catch (error) {
      if (turn !== latest) return;
      // a file that cannot be read has no lines to show
      if (how === 'dry') answer.value = null;
      trouble.value = getErrorMessage(error);
    } finally {
      if (turn === latest) busy.value = false;
    }
  }

  function makeQuery(how: 'dry' | 'store'): string {
    const query = new URLSearchParams(Object.entries(settings.value).filter(([, value]) => value !== ''));
    if (how === 'dry') query.set('dryRun', '1');
    else if (partial.value) query.set('partial', '1');
    return query.size > 0 ? `?${query}` : '';
  }

  function begin(): void {
    partial.value = false;
    kind.value = 'all';
    shown.value = PAGE_ROWS;
  }

  return {
    articles,
    file,
    settings,
    answer,
    trouble,
    busy,
    partial,
    kind,
    shown,
    lines,
    picked,
    load,
    take(chosen: File): void {
      file.value = chosen;
      answer.value = null;
      begin();
      void send('dry');
    },
    set(part: Partial<ImportSettings>): void {
      settings.value = { ...settings.value, ...part };
      begin();
      void send('dry');
    },
    show(next: LineKind | 'all'): void {
      kind.value = next;
      shown.value = PAGE_ROWS;
    },
    showMore(): void {
      shown.value += PAGE_ROWS;
    },
    tryAgain: () => send('dry'),
    store: () => send('store'),
  };
}

export type ImportModel = ReturnType<typeof createImportModel>;

/** The service tells the formats apart by their first bytes; the type only has to be one it takes. */
function getMediaType(name: string): string {
  if (/\.(cxf|xml)$/i.test(name)) return 'application/xml';
  return /\.csv$/i.test(name) ? 'text/csv' : 'text/plain';
}
