import { readFile, writeFile } from 'node:fs/promises';
import { ConfigError } from '../config.ts';
import { checkCode, foldCode } from '../core/codes.ts';
import {
  type Article,
  FAMILIES,
  type Family,
  type Finish,
  GEOMETRIES,
  ILLUMINANTS,
  OBSERVERS,
} from '../core/finish/finish.ts';
import { readArticle } from '../core/finish/read-finish.ts';
import type { ImportReading, RefusedRow } from '../core/import/measured-row.ts';
import { type ImportDefaults, type PlannedRow, planImport } from '../core/import/plan-import.ts';
import { Problem } from '../core/problems.ts';
import { readImport } from '../import/read-import.ts';
import { readArguments, readChoice } from './arguments.ts';
import { printJson } from './output.ts';
import { replaceFile } from './replace-file.ts';
import { CALL_TEXTS, INPUTS, RESULT_TEXTS } from './texts.ts';

const OPTIONS = {
  output: { type: 'string', short: 'o' },
  family: { type: 'string' },
  article: { type: 'string' },
  illuminant: { type: 'string' },
  observer: { type: 'string' },
  geometry: { type: 'string' },
  partial: { type: 'boolean' },
  'dry-run': { type: 'boolean' },
  json: { type: 'boolean' },
} as const;

/**
 * `dyeworks import measurements.csv -o finishes.json`: converts measurements to the file that `deliver` and `swatches` read.
 * 0 when written (in a dry run: when it would be), 1 when a line is refused and `--partial` does not leave it out.
 */
export async function importCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.measurements], OPTIONS);
  const dryRun = options['dry-run'] === true;
  if (options.output === undefined && !dryRun) throw new ConfigError(CALL_TEXTS.missingImportOutput);
  const family = readChoice('family', options.family, FAMILIES);
  const viewing = {
    illuminant: readChoice('illuminant', options.illuminant, ILLUMINANTS),
    observer: readChoice('observer', options.observer, OBSERVERS),
    geometry: readChoice('geometry', options.geometry, GEOMETRIES),
  };
  const defaults: ImportDefaults = {
    ...(family !== undefined && { family }),
    ...(options.article !== undefined && { article: String(options.article) }),
  };
  const reading = readImport(await readFile(files[0]!), null, viewing);
  const articles = makeArticles(reading, defaults);
  const { created, finishes, ...plan } = planImport(reading, { finishes: [], articles }, defaults);
  const refused = plan.refused.map(explainArticle);
  const blocked = finishes.length === 0 || (refused.length > 0 && options.partial !== true);
  const path = dryRun || blocked ? null : String(options.output);
  if (path !== null) await replaceFile(path, (partPath) => writeFile(partPath, makeFile(finishes, articles)));
  if (options.json) printJson({ path, created, refused });
  else {
    printLines(created, refused);
    if (finishes.length === 0) console.log(RESULT_TEXTS.nothingToImport);
    else if (blocked) console.log(RESULT_TEXTS.importRefused(refused.length));
    else if (path === null) console.log(RESULT_TEXTS.wouldImport(finishes.length));
    else console.log(RESULT_TEXTS.imported(finishes.length, path));
  }
  return blocked ? 1 : 0;
}

/**
 * Makes every article that a row names: its name is its code, its family that of the first row that names it. Where this is not
 * possible, `planImport` refuses the row.
 * @throws Problem `invalid-code` for the article of the options
 */
function makeArticles({ rows }: ImportReading, defaults: ImportDefaults): Article[] {
  if (defaults.article !== undefined) checkCode(defaults.article, 'article');
  const made = new Map<string, Article>();
  for (const row of rows) {
    const code = row.article ?? defaults.article;
    const family = FAMILIES.find((each) => each === (row.family ?? defaults.family)?.toLowerCase());
    if (code === undefined || family === undefined || made.has(foldCode(code))) continue;
    const article = tryArticle(code, family);
    if (article) made.set(foldCode(code), article);
  }
  return [...made.values()];
}

function tryArticle(code: string, family: Family): Article | null {
  try {
    return readArticle(code, { name: code, family });
  } catch (error) {
    if (error instanceof Problem) return null;
    throw error;
  }
}

/** The command line stores no articles: one is unknown only because it could not be made. */
function explainArticle(row: RefusedRow): RefusedRow {
  return row.code === 'unknown-article' ? { ...row, message: RESULT_TEXTS.noArticle } : row;
}

/** The text of a file that `readFinishes` reads, with the articles that a finish names. */
function makeFile(finishes: readonly Finish[], articles: readonly Article[]): string {
  const used = new Set(finishes.flatMap(({ article }) => (article === undefined ? [] : foldCode(article))));
  const named = articles.filter(({ article }) => used.has(foldCode(article)));
  return [
    '{',
    '  "articles": {',
    listEntries(named.map(({ article, ...rest }) => [article, rest])),
    '  },',
    '  "finishes": {',
    listEntries(finishes.map(({ finish, ...rest }) => [finish, rest])),
    '  }',
    '}',
    '',
  ].join('\n');
}

/** One entry per line: with one number per line, a file of spectra would be too long to read. */
function listEntries(entries: readonly (readonly [code: string, value: object])[]): string {
  return entries.map(([code, value]) => `    ${JSON.stringify(code)}: ${JSON.stringify(value)}`).join(',\n');
}

/** Prints the rows in the order of the file. */
function printLines(created: readonly PlannedRow[], refused: readonly RefusedRow[]): void {
  const lines = [
    ...created.map((row) => ({ line: row.line, text: RESULT_TEXTS.newLine(row.line, describeFinish(row)) })),
    ...refused.map(({ line, finish, code, message }) => ({
      line,
      text: RESULT_TEXTS.refusedLine(line, finish, code, message),
    })),
  ];
  for (const { text } of lines.sort((a, b) => a.line - b.line)) console.log(text);
}

/** Code, name, colour and findings of a finish; the name only if it differs from the code. */
function describeFinish({ finish, name, hex, estimated, outOfGamutDeltaE, findings }: PlannedRow): string[] {
  const marks = findings.map((code) => {
    if (code === 'colour-estimated' && estimated) return `${code} (ΔE00 ${estimated.typicalDeltaE})`;
    return code === 'out-of-gamut' ? `${code} (ΔE00 ${outOfGamutDeltaE.toFixed(1)})` : code;
  });
  return [finish, ...(name === finish ? [] : [name]), hex, ...marks].filter((part) => part !== '');
}
