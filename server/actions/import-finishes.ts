import { foldCode } from '../core/codes.ts';
import type { StoredFinish } from '../core/finish/finish.ts';
import type { CodeCounts } from '../core/finish/level-map.ts';
import type { Author } from '../core/history/history.ts';
import type { ImportDefaults, KnownFinishes } from '../core/import/plan-import.ts';
import type { ImportFile, PlannedImport } from '../core/ports/imports.ts';
import { Problem } from '../core/problems.ts';
import type { Sliced } from '../core/slices.ts';
import type { Context } from './context.ts';
import { listColourMaps } from './finish-maps.ts';
import { inTurns } from './in-turns.ts';
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
      recall: (codes) => inTurns(recallSliced(library, codes)),
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

/** Codes that are looked up in one go, some milliseconds. */
const CODES_AT_ONCE = 1000;

/**
 * The stored finishes of a file, and the colour codes of their maps. It resolves none of them: twenty thousand colours would
 * take a second.
 */
export function* recallSliced(
  { byCode, articles, recallCodes }: Pick<FinishLibrary, 'byCode' | 'articles' | 'recallCodes'>,
  codes: readonly string[],
): Sliced<KnownFinishes> {
  const finishes = new Set<StoredFinish>();
  for (const [at, code] of codes.entries()) {
    const finish = byCode.get(foldCode(code));
    if (finish) finishes.add(finish);
    if ((at + 1) % CODES_AT_ONCE === 0) yield;
  }
  const maps = new Map<string, CodeCounts>();
  for (const map of yield* listColourMaps(finishes, articles)) {
    const counts = recallCodes(map);
    if (counts) maps.set(map, counts);
  }
  return { finishes: [...finishes], articles: [...articles.values()], codes: maps };
}
