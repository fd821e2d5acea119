import { readFile, rename, writeFile } from 'node:fs/promises';
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
import { count } from '../core/texts/format-text.ts';
import { readImport } from '../import/read-import.ts';
import { readArguments } from './read-arguments.ts';
import { readChoice } from './read-choice.ts';

const OPTIONS = {
  output: { type: 'string', short: 'o' },
  family: { type: 'string' },
  article: { type: 'string' },
  illuminant: { type: 'string' },
  observer: { type: 'string' },
  geometry: { type: 'string' },
  partial: { type: 'boolean' },
  'dry-run': { type: 'boolean' },
} as const;

/**
 * `dyeworks import measurements.csv -o finishes.json`: measured finishes as the file that `deliver` and `swatches` take;
 * 0 when written (or, in a dry run, when it would be), 1 when a line is refused and `--partial` does not leave it out.
 */
export async function importCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, ['a measurement file'], OPTIONS);
  const dryRun = options['dry-run'] === true;
  if (options.output === undefined && !dryRun) {
    throw new ConfigError('--output (-o) is missing; --dry-run does without. See dyeworks --help.');
  }
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
  const refused = plan.refused.map(blameArticle);
  printLines(created, refused);
  if ((refused.length > 0 && options.partial !== true) || finishes.length === 0) {
    console.log(
      finishes.length === 0
        ? 'Nothing can be taken as it stands.'
        : `Nothing is written: ${count(refused.length, 'line')} refused. Correct the file, or leave them out with --partial.`,
    );
    return 1;
  }
  if (dryRun) console.log(`${count(finishes.length, 'finish', 'finishes')} would be written.`);
  else {
    // beside the file and renamed over it only when it is whole: an earlier one is not lost
    const partPath = `${options.output}.part`;
    await writeFile(partPath, makeFile(finishes, articles));
    await rename(partPath, String(options.output));
    console.log(`${count(finishes.length, 'finish', 'finishes')} in ${options.output}`);
  }
  return 0;
}

/**
 * Without a store no article is known: each that is named is made, called by its code, of the family of the first row that
 * names it. Rows it cannot be made for are refused when they are judged.
 * @throws Problem `invalid-code` for the one of the options
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

/** Here articles are not stored anywhere: one is not known because it could not be made. */
function blameArticle(row: RefusedRow): RefusedRow {
  if (row.code !== 'unknown-article') return row;
  const message =
    'Its article cannot be made: nothing says the family of it (a column family, or --family), or its code is not letters, figures, “.”, “_” and “-”.';
  return { ...row, message };
}

/** The form that `readFinishes` takes; only articles that a finish names. */
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

/** One to a line: a spectrum laid out number by number would be longer than anybody scrolls. */
function listEntries(entries: readonly (readonly [code: string, value: object])[]): string {
  return entries.map(([code, value]) => `    ${JSON.stringify(code)}: ${JSON.stringify(value)}`).join(',\n');
}

function printLines(created: readonly PlannedRow[], refused: readonly RefusedRow[]): void {
  const lines = [
    ...created.map((row) => [row.line, `  new      line ${row.line}  ${sayTaken(row)}`] as const),
    ...refused.map(
      ({ line, finish, code, message }) =>
        [line, `  refused  line ${line}  ${finish ?? 'no code'}  ${code}: ${message}`] as const,
    ),
  ];
  for (const [, text] of lines.sort(([a], [b]) => a - b)) console.log(text);
}

function sayTaken({ finish, name, hex, estimated, outOfGamutDeltaE, findings }: PlannedRow): string {
  const marks = findings.map((code) => {
    if (code === 'colour-estimated' && estimated) return `${code} (ΔE00 ${estimated.typicalDeltaE})`;
    return code === 'out-of-gamut' ? `${code} (ΔE00 ${outOfGamutDeltaE.toFixed(1)})` : code;
  });
  return [finish, name === finish ? '' : name, hex, ...marks].filter((part) => part !== '').join('  ');
}
