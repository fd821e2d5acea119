import { computed, signal } from '@preact/signals';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { ArticleListAnswer } from '../../../server/http/contracts/finish.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-import.ts';
import { call, get, getErrorMessage } from '../../api.ts';
import { importTexts } from '../../texts/import.ts';
import { type LineKind, listLines } from './import-lines.ts';

/** The values that apply where the file gives none; empty for no default. */
export interface ImportSettings {
  readonly family: string;
  readonly article: string;
  readonly illuminant: string;
  readonly observer: string;
  readonly geometry: string;
}

const NO_DEFAULTS: ImportSettings = { family: '', article: '', illuminant: '', observer: '', geometry: '' };

/** Rows added to the table at a time: twenty thousand at once would block the browser. */
const PAGE_ROWS = 200;

/** The chosen file, the preview of its import, and the result. */
export function createImportModel() {
  const articles = signal<readonly Article[]>([]);
  const file = signal<File | null>(null);
  const settings = signal<ImportSettings>(NO_DEFAULTS);
  /** The preview, or the result once the import is done. */
  const answer = signal<ImportAnswer | null>(null);
  const trouble = signal<string | null>(null);
  const busy = signal(false);
  /** Whether the import skips refused lines. */
  const partial = signal(false);
  const kind = signal<LineKind | 'all'>('all');
  const shown = signal(PAGE_ROWS);
  let latest = 0;

  const lines = computed(() => (answer.value ? listLines(answer.value) : []));
  const linesOfKind = computed(() =>
    kind.value === 'all' ? lines.value : lines.value.filter((line) => line.kind === kind.value),
  );

  async function load(): Promise<void> {
    try {
      articles.value = (await get<ArticleListAnswer>('/api/articles')).articles;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  /** Sends the file. If several requests overlap, the last one counts. */
  async function send(how: 'dry' | 'store'): Promise<void> {
    const sent = file.value;
    if (!sent) return;
    const request = ++latest;
    busy.value = true;
    trouble.value = null;
    try {
      const { data } = await call<ImportAnswer>('POST', `/api/finishes/import${makeQuery(how)}`, {
        bytes: { data: sent, mediaType: getMediaType(sent.name) },
      });
      if (request !== latest) return;
      answer.value = data;
      if (how === 'store' && !data.stored) {
        trouble.value = importTexts.changedMeanwhile;
      }
    } catch (error) {
      if (request !== latest) return;
      // an unreadable file has no lines to show
      if (how === 'dry') answer.value = null;
      trouble.value = getErrorMessage(error);
    } finally {
      if (request === latest) busy.value = false;
    }
  }

  function makeQuery(how: 'dry' | 'store'): string {
    const query = new URLSearchParams(Object.entries(settings.value).filter(([, value]) => value !== ''));
    if (how === 'dry') query.set('dryRun', '1');
    else if (partial.value) query.set('partial', '1');
    return query.size > 0 ? `?${query}` : '';
  }

  function resetView(): void {
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
    linesOfKind,
    load,
    openFile(chosen: File): void {
      file.value = chosen;
      answer.value = null;
      resetView();
      void send('dry');
    },
    changeSettings(part: Partial<ImportSettings>): void {
      settings.value = { ...settings.value, ...part };
      resetView();
      void send('dry');
    },
    showKind(next: LineKind | 'all'): void {
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

/** The service detects the format from the first bytes; the media type only has to be an accepted one. */
function getMediaType(name: string): string {
  if (/\.(cxf|xml)$/i.test(name)) return 'application/xml';
  return /\.csv$/i.test(name) ? 'text/csv' : 'text/plain';
}
