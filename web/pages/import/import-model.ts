import { computed, signal } from '@preact/signals';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { RefusedRow } from '../../../server/core/import/measured-row.ts';
import type { ChangedRow, FieldChange, PlannedRow } from '../../../server/core/import/plan-import.ts';
import type { ArticleListAnswer } from '../../../server/http/contracts/finish.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-uploads.ts';
import { call, get, getErrorMessage } from '../../api.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { importTexts, importTexts as texts } from '../../texts/import.ts';
import {
  assignColumn,
  type ColumnMap,
  findColumnMap,
  listMissing,
  recallColumns,
  rememberColumns,
} from './column-map.ts';

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
  const problem = signal<string | null>(null);
  /** The columns that the user assigns; null for a file whose headers are all known. */
  const columnMap = signal<ColumnMap | null>(null);
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
      problem.value = getErrorMessage(error);
    }
  }

  /** Sends the file. If several requests overlap, the last one counts. */
  async function send(how: 'dry' | 'store'): Promise<void> {
    const sent = file.value;
    if (!sent) return;
    if (columnMap.value && listMissing(columnMap.value).length > 0) {
      latest++;
      busy.value = false;
      answer.value = null;
      return;
    }
    const request = ++latest;
    busy.value = true;
    problem.value = null;
    try {
      const { data } = await call<ImportAnswer>('POST', `/api/finishes/import${makeQuery(how)}`, {
        bytes: { data: sent, mediaType: getMediaType(sent.name) },
      });
      if (request !== latest) return;
      answer.value = data;
      if (how === 'store' && !data.stored) {
        problem.value = importTexts.changedMeanwhile;
      }
    } catch (error) {
      if (request !== latest) return;
      // an unreadable file has no lines to show
      if (how === 'dry') answer.value = null;
      problem.value = getErrorMessage(error);
    } finally {
      if (request === latest) busy.value = false;
    }
  }

  function makeQuery(how: 'dry' | 'store'): string {
    const query = new URLSearchParams(Object.entries(settings.value).filter(([, value]) => value !== ''));
    if (columnMap.value) query.set('columns', columnMap.value.columns.join(','));
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
    problem,
    columnMap,
    busy,
    partial,
    kind,
    shown,
    lines,
    linesOfKind,
    load,
    async openFile(chosen: File): Promise<void> {
      file.value = chosen;
      answer.value = null;
      problem.value = null;
      columnMap.value = null;
      resetView();
      const beginning = await readBeginning(chosen);
      if (file.value !== chosen) return;
      columnMap.value = findColumnMap(beginning, recallColumns);
      await send('dry');
    },
    assignColumn(at: number, column: string): void {
      if (!columnMap.value) return;
      columnMap.value = assignColumn(columnMap.value, at, column);
      rememberColumns(columnMap.value);
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

/** Enough for the header and a row of the widest file. */
const BEGINNING_BYTES = 64 * 1024;

/** The beginning of a file as text, in UTF-8 or the UTF-16 that a byte order mark states; empty if it cannot be read. */
async function readBeginning(file: File): Promise<string> {
  try {
    const bytes = new Uint8Array(await file.slice(0, BEGINNING_BYTES).arrayBuffer());
    const [first, second] = bytes;
    const mark = first === 0xff && second === 0xfe ? 'utf-16le' : first === 0xfe && second === 0xff ? 'utf-16be' : null;
    return new TextDecoder(mark ?? 'utf-8').decode(bytes);
  } catch {
    return '';
  }
}

/** The service detects the format from the first bytes; the media type only has to be an accepted one. */
function getMediaType(name: string): string {
  if (/\.(cxf|xml)$/i.test(name)) return 'application/xml';
  return /\.csv$/i.test(name) ? 'text/csv' : 'text/plain';
}

/** A line of the file, by its outcome. */
export type ImportLine =
  | { readonly kind: 'created'; readonly row: PlannedRow }
  | { readonly kind: 'changed'; readonly row: ChangedRow }
  | { readonly kind: 'unchanged'; readonly row: PlannedRow }
  | { readonly kind: 'refused'; readonly row: RefusedRow };

export const LINE_KINDS = ['created', 'changed', 'unchanged', 'refused'] as const;
type LineKind = (typeof LINE_KINDS)[number];

/** All lines in the order of the file. */
export function listLines(answer: ImportAnswer): ImportLine[] {
  const lines: ImportLine[] = [
    ...answer.created.map((row) => ({ kind: 'created' as const, row })),
    ...answer.changed.map((row) => ({ kind: 'changed' as const, row })),
    ...answer.unchanged.map((row) => ({ kind: 'unchanged' as const, row })),
    ...answer.refused.map((row) => ({ kind: 'refused' as const, row })),
  ];
  return lines.sort((a, b) => a.row.line - b.row.line);
}

/** The name of a changed field, and its change: “name”, “Tarn → Tarn blue”. */
export function describeChange({ field, before, after }: FieldChange): {
  readonly name: string;
  readonly change: string;
} {
  const fields: Readonly<Record<string, string>> = finishesTexts.fields;
  const name = fields[field] ?? field;
  if (before === null) return { name, change: after ?? '' };
  return { name, change: after === null ? texts.removed(before) : texts.changed(before, after) };
}

/** Notes on a line that can be imported, short enough for a table cell. */
export function describeNotes({
  findings,
  estimated,
  outOfGamutDeltaE,
}: Pick<PlannedRow, 'findings' | 'estimated' | 'outOfGamutDeltaE'>): string[] {
  const notes: Readonly<Record<string, string>> = texts.notes;
  return findings.map((code) => {
    if (code === 'colour-estimated' && estimated)
      return texts.estimated(estimated.typicalDeltaE, estimated.worstDeltaE);
    if (code === 'out-of-gamut') return texts.outOfGamut(outOfGamutDeltaE.toFixed(1));
    return notes[code] ?? texts.notes.other;
  });
}
