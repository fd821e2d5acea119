import { canonical } from '../canonical.ts';
import { foldCode } from '../codes.ts';
import type { TwoDegreeBand } from '../colour/estimate-two-degree.ts';
import { deltaE2000, type Lab } from '../colour/lab.ts';
import { isHex } from '../colour/srgb.ts';
import { checkFinish } from '../finish/check-finish.ts';
import { type Article, FAMILIES, type Family, type Finish, type StoredFinish } from '../finish/finish.ts';
import { formatColour } from '../finish/format-finish.ts';
import type { CodeCounts } from '../finish/level-map.ts';
import { listSpecificationFindings } from '../finish/list-specification-findings.ts';
import { type GivenColour, type GivenFinish, readFinish } from '../finish/read-finish.ts';
import { type RecallCodes, resolveFinish } from '../finish/resolve-finish.ts';
import { Problem } from '../problems.ts';
import type { FindingCode } from '../product/finding.ts';
import { IMPORT_PROBLEMS } from '../texts/problems/finish.ts';
import { type ImportReading, type MeasuredRow, type RefusedRow, refuseRow } from './measured-row.ts';

/** An accepted row. */
export interface PlannedRow extends PlannedLook {
  readonly line: number;
  readonly finish: string;
  readonly name: string;
}

/** A row that changes a known finish, in these fields. */
export interface ChangedRow extends PlannedRow {
  readonly fields: readonly string[];
  /** The same fields with their text before and after. */
  readonly changes: readonly FieldChange[];
  readonly before: { readonly name: string; readonly hex: string };
  /** ΔE00 between the specified colours before and after. */
  readonly deltaE: number;
}

export interface ImportPlan {
  readonly created: readonly PlannedRow[];
  readonly changed: readonly ChangedRow[];
  /** Rows that match the stored finish. */
  readonly unchanged: readonly PlannedRow[];
  /** By line. */
  readonly refused: readonly RefusedRow[];
  /** The finishes to store: all that are new or changed. */
  readonly finishes: readonly Finish[];
}

export interface KnownFinishes {
  readonly finishes: readonly StoredFinish[];
  readonly articles: readonly Article[];
  /** Codes of the colour maps of those finishes, by digest; unknown for other maps. */
  readonly codes?: ReadonlyMap<string, CodeCounts>;
}

/** For rows without these values whose finish is new. */
export interface ImportDefaults {
  readonly family?: string;
  readonly article?: string;
}

/**
 * Plans an import line by line. A known finish changes in the fields of its row and keeps the rest (its maps, its
 * companions). Each row is checked like a finish that is stored singly. A code that occurs twice is refused on each of
 * its lines, since it is unclear which one counts.
 */
export function planImport(reading: ImportReading, known: KnownFinishes, defaults: ImportDefaults): ImportPlan {
  const byCode = new Map(known.finishes.map((finish) => [foldCode(finish.finish), finish]));
  const byArticle = new Map(known.articles.map((article) => [foldCode(article.article), article]));
  const describe = (finish: Finish) =>
    describePlanned(finish, findArticle(finish, byArticle), (sha256) => known.codes?.get(sha256) ?? null);
  const lines = countLines(reading);
  const refused: RefusedRow[] = reading.refused.map((row) => {
    const shared = lines.get(foldCode(row.finish ?? '')) ?? [];
    return shared.length > 1 ? refuseRow(row.line, row.finish, twice(row.finish!, shared)) : row;
  });
  const created: PlannedRow[] = [];
  const changed: ChangedRow[] = [];
  const unchanged: PlannedRow[] = [];
  const finishes: Finish[] = [];
  for (const row of reading.rows) {
    try {
      const shared = lines.get(foldCode(row.code)) ?? [];
      if (shared.length > 1) throw twice(row.code, shared);
      const before = byCode.get(foldCode(row.code));
      const finish = judgeRow(row, before, byArticle, defaults);
      const look = describe(finish);
      const planned = { line: row.line, finish: finish.finish, name: finish.name, ...look };
      const changes = before ? listChanges(before, finish) : [];
      if (before && changes.length === 0) unchanged.push(planned);
      else {
        finishes.push(finish);
        if (before) changed.push(compareWith(before, planned, changes, describe(before)));
        else created.push(planned);
      }
    } catch (error) {
      refused.push(refuseRow(row.line, row.code || null, error));
    }
  }
  return { created, changed, unchanged, refused: refused.sort((a, b) => a.line - b.line), finishes };
}

const TEXTS = IMPORT_PROBLEMS['invalid-field'];

/** Lines by code, including those of refused rows. */
function countLines({ rows, refused }: ImportReading): Map<string, number[]> {
  const lines = new Map<string, number[]>();
  const all = [
    ...rows.map(({ code, line }) => ({ code, line })),
    ...refused.map(({ finish, line }) => ({ code: finish, line })),
  ];
  for (const { code, line } of all) {
    if (!code) continue;
    const key = foldCode(code);
    const known = lines.get(key);
    if (known) known.push(line);
    else lines.set(key, [line]);
  }
  return lines;
}

function twice(code: string, lines: readonly number[]): Problem {
  const sorted = [...lines].sort((a, b) => a - b);
  return new Problem('duplicate-code', {
    detail: IMPORT_PROBLEMS['duplicate-code'](
      code.slice(0, 80),
      `${sorted.slice(0, 10).join(', ')}${sorted.length > 10 ? ' …' : ''}`,
    ),
    expected: 'each code once',
    received: code.slice(0, 80),
  });
}

function findArticle(finish: Finish, articles: ReadonlyMap<string, Article>): Article | null {
  return finish.article === undefined ? null : (articles.get(foldCode(finish.article)) ?? null);
}

function compareWith(
  before: StoredFinish,
  planned: PlannedRow,
  changes: readonly FieldChange[],
  { hex, lab }: PlannedLook,
): ChangedRow {
  return {
    ...planned,
    fields: changes.map(({ field }) => field),
    changes,
    before: { name: before.name, hex },
    deltaE: deltaE2000(lab, planned.lab),
  };
}

function judgeRow(
  row: MeasuredRow,
  before: StoredFinish | undefined,
  articles: ReadonlyMap<string, Article>,
  defaults: ImportDefaults,
): Finish {
  checkTexts(row);
  const { line: _, code, family: _f, article: _a, display, colour: stated, ...said } = row;
  const { revision: _r, finish: _c, colour: _o, colourFrom, ...kept } = before ?? { revision: 0, finish: code };
  const colour = before && saysNoColour(stated) ? before.colour : stated;
  // a finish that took its colour from the map because it had no other now has one
  const keepsSource = colourFrom !== undefined && (before?.colour !== undefined || colour === undefined);
  const articleCode = row.article ?? before?.article ?? defaults.article;
  const article =
    articleCode === undefined ? null : (articles.get(foldCode(articleCode)) ?? unknownArticle(articleCode));
  const family = readFamily(row.family ?? before?.family ?? article?.family ?? defaults.family);
  const given: GivenFinish = {
    ...kept,
    ...said,
    ...(row.names && { names: { ...before?.names, ...row.names } }),
    name: row.name || before?.name || (row.name ?? code),
    ...(colour && { colour }),
    ...(keepsSource && { colourFrom }),
    family,
    ...(articleCode !== undefined && { article: articleCode }),
    ...(display !== undefined && { display: { hex: display.toLowerCase() } }),
  };
  return readFinish(before?.finish ?? code, given, article);
}

const saysNoColour = ({ hex, lab, xyz, spectrum }: GivenColour) => (hex ?? lab ?? xyz ?? spectrum) === undefined;

function readFamily(family: string | undefined): Family {
  const known = FAMILIES.find((each) => each === family?.toLowerCase());
  if (known) return known;
  throw new Problem('invalid-field', {
    detail: family === undefined ? TEXTS.noFamily(FAMILIES) : TEXTS.unknownFamily(family.slice(0, 40), FAMILIES),
    expected: FAMILIES,
    received: family?.slice(0, 40),
    where: '/family',
  });
}

function unknownArticle(code: string): never {
  throw new Problem('unknown-article', {
    detail: IMPORT_PROBLEMS['unknown-article'](code.slice(0, 80)),
    received: code.slice(0, 80),
    where: '/article',
  });
}

/** The same limits as for a finish that is stored singly. */
const MOST = { tag: 64, tags: 100, supplier: 120, note: 2000 } as const;

function checkTexts({ tags = [], supplier = '', note = '', display }: MeasuredRow): void {
  const long =
    tags.length > MOST.tags
      ? TEXTS.tooManyTags(tags.length, MOST.tags)
      : tags.some((tag) => tag.length > MOST.tag)
        ? TEXTS.tagTooLong(MOST.tag)
        : supplier.length > MOST.supplier
          ? TEXTS.supplierTooLong(MOST.supplier)
          : note.length > MOST.note
            ? TEXTS.noteTooLong(MOST.note)
            : null;
  if (long) throw new Problem('invalid-field', { detail: long, expected: MOST });
  if (display === undefined || isHex(display)) return;
  throw new Problem('invalid-field', {
    detail: TEXTS.displayNotHex(display.slice(0, 20)),
    expected: '#rrggbb',
    received: display.slice(0, 20),
    where: '/display',
  });
}

/** The look of an accepted row: enough to check it before the import. */
interface PlannedLook {
  readonly family: Family;
  readonly article?: string;
  /** 8-bit sRGB colour of its chip. */
  readonly hex: string;
  /** CIE Lab, D65, 2°, of the specified colour. */
  readonly lab: Lab;
  /** ΔE00 between the specified colour and the nearest colour in sRGB; 0 inside the gamut. */
  readonly outOfGamutDeltaE: number;
  /** Possible error of an estimated colour, ΔE00, as a rule and in nineteen cases of twenty; null where it is exact. */
  readonly estimated: TwoDegreeBand | null;
  /**
   * Codes of the findings that the finish would have; `GET /api/finishes/{finish}` gives them in full once it is
   * stored.
   */
  readonly findings: readonly FindingCode[];
}

function describePlanned(finish: Finish, article: Article | null, recallCodes: RecallCodes): PlannedLook {
  const resolved = resolveFinish(finish, article, recallCodes);
  // maps are not available while rows are planned; their findings come once a finish is stored
  const findings = [...listSpecificationFindings(resolved), ...checkFinish(finish, resolved, article)];
  return {
    family: finish.family,
    ...(finish.article !== undefined && { article: finish.article }),
    hex: resolved.hex,
    lab: resolved.colourLab,
    outOfGamutDeltaE: resolved.outOfGamutDeltaE,
    estimated: resolved.estimated,
    findings: [...new Set(findings.map(({ code }) => code))].filter((code) => code !== 'map-not-measured'),
  };
}

/** One field that differs, before and after in a few words; null where it has no value. */
export interface FieldChange {
  readonly field: string;
  readonly before: string | null;
  readonly after: string | null;
}

/** Longer values are cut: people read a dry run line by line. */
const MOST_CHARACTERS = 160;

/** The fields that differ, by name, whatever the order of the fields. */
export function listChanges({ revision: _, ...before }: StoredFinish, after: Finish): FieldChange[] {
  const keys = new Set([...Object.keys(before), ...Object.keys(after)]) as Set<keyof Finish>;
  return [...keys]
    .filter((key) => canonical(before[key]) !== canonical(after[key]))
    .sort()
    .map((field) => ({ field, before: sayField(before, field), after: sayField(after, field) }));
}

function sayField(finish: Finish, field: keyof Finish): string | null {
  const value = finish[field];
  if (value === undefined || value === null) return null;
  const { colour } = finish;
  const words = field === 'colour' && colour ? formatColour(colour) : formatValue(value);
  return words.length > MOST_CHARACTERS ? `${words.slice(0, MOST_CHARACTERS - 1)}…` : words;
}

/** `warm, outdoor`; `de Bergsee, fr Lac`; `gu60 30`. */
export function formatValue(value: unknown): string {
  if (Array.isArray(value)) return value.map(formatValue).join(', ');
  if (typeof value !== 'object' || value === null) return String(value);
  return Object.entries(value)
    .map(([key, each]) => `${key} ${formatValue(each)}`)
    .join(', ');
}
