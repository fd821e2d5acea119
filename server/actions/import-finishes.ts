import { foldCode } from '../core/codes.ts';
import type { CodeCounts } from '../core/finish/level-map.ts';
import type { Author } from '../core/history/history.ts';
import type { ImportDefaults, KnownFinishes } from '../core/import/plan-import.ts';
import type { ImportFile, PlannedImport } from '../core/ports/imports.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';
import { type ForFinishes, loadFinishes } from './load-finishes.ts';
import type { FinishLibrary } from './loaded-product.ts';

interface ImportOptions extends ImportDefaults {
  /** Only report the outcome, and store nothing. */
  readonly dryRun: boolean;
  /** Import the good lines even if others are refused. Otherwise one refused line stops the import. */
  readonly partial: boolean;
  /** Aborted when the caller leaves: nothing is stored if the file has not been planned. */
  readonly signal?: AbortSignal;
}

interface ImportResult extends Omit<PlannedImport, 'finishes'> {
  /** Whether the created and changed finishes were stored. */
  readonly stored: boolean;
}

/** Other people may change finishes while a long file is planned. The import gives up after this many plans. */
const ATTEMPTS = 3;

/**
 * Imports a file of finishes in one transaction. Fields that a row leaves out stay as they are: if a finish of the file changes
 * during the planning, the file is planned again.
 * @throws Problem `import-unreadable`, `text-encoding`, `stale-finishes`
 */
export async function importFinishes(
  context: ForFinishes & Pick<Context, 'imports' | 'now'>,
  file: ImportFile,
  { dryRun, partial, signal, ...defaults }: ImportOptions,
  author: Author,
): Promise<ImportResult> {
  for (let attempt = 1; ; attempt++) {
    const library = await loadFinishes(context);
    const { finishes, ...planned } = await context.imports.plan({
      file,
      defaults,
      wantsFinishes: !dryRun,
      signal,
      recall: (codes) => recall(library, codes),
    });
    const stored = !dryRun && (partial || planned.refused.length === 0);
    if (!stored || finishes.length === 0) return { ...planned, stored };
    try {
      await context.stores.putFinishes(finishes, (code) => library.byCode.get(foldCode(code))?.revision ?? null, {
        ...author,
        how: 'imported',
        at: context.now().toISOString(),
      });
      return { ...planned, stored };
    } catch (error) {
      if (!(error instanceof Problem && error.code === 'stale-finishes') || attempt === ATTEMPTS) throw error;
    }
  }
}

function recall({ byCode, articles, resolve, recallCodes }: FinishLibrary, codes: readonly string[]): KnownFinishes {
  const finishes = [...new Set(codes.map(foldCode))].flatMap((code) => byCode.get(code) ?? []);
  const maps = new Map<string, CodeCounts>();
  for (const { finish } of finishes) {
    const { colour } = resolve(finish).maps;
    const counts = colour === undefined ? null : recallCodes(colour);
    if (colour !== undefined && counts) maps.set(colour, counts);
  }
  return { finishes, articles: [...articles.values()], codes: maps };
}
