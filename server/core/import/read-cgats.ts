import type { GivenColour } from '../finish/read-finish.ts';
import { Problem } from '../problems.ts';
import { IMPORT_PROBLEMS } from '../texts/problems/finish.ts';
import {
  collectRows,
  gatherSpectrum,
  type ImportReading,
  type MeasuredRow,
  readNumber,
  tidyViewing,
  type ViewingDefaults,
} from './measured-row.ts';

/** Fields of a table: a spectrum of two fields for every nanometre has half as many. */
const MOST_FIELDS = 2_000;
/** Characters of a word; names have at most 120. */
const MOST_CHARACTERS = 10_000;
/** Different keywords, values of one, and tables: files of instruments have some tens. */
const MOST_KEYWORDS = 1_000;

interface Line {
  readonly line: number;
  readonly tokens: readonly string[];
}

/** Sets of a table, with the fields and keywords that apply to it. */
interface Table {
  readonly fields: readonly string[];
  readonly sets: readonly Line[];
  readonly keywords: ReadonlyMap<string, readonly string[]>;
}

/** Whether a text is CGATS: it has an identifier on the first line (CGATS.17, ISO28178, IT8.7/…), or a data format. */
export function isCgats(text: string): boolean {
  return /^\s*(?:CGATS|ISO\s?28178|IT8\.7)/i.test(text) || /^[ \t]*BEGIN_DATA_FORMAT\b/m.test(text);
}

/**
 * Reads finishes from CGATS.17 text (ISO 28178): each set is one, SAMPLE_ID its code, SAMPLE_NAME its name (and its
 * code where there is no SAMPLE_ID). It takes the most complete of the values: the spectrum, else LAB_…, else XYZ_…; it
 * ignores other fields. WEIGHTING_FUNCTION gives illuminant and observer, MEASUREMENT_GEOMETRY the geometry.
 * Spectra are 0–1. They are divided only where the file says that they are percent (fields SPECTRAL_PCT…, keyword
 * SPECTRAL_NORM). Keywords and fields of the standard are as two public readers list and explain them: Little CMS
 * (`cmscgats.c`: WEIGHTING_FUNCTION as “name, value”, MEASUREMENT_GEOMETRY, SPECTRAL_NM, SPECTRAL_PCT, SPECTRAL_DEC,
 * LAB_…, XYZ_…) and the CGATS library of ArgyllCMS (CGATS.5-1993, Annex J). The other spellings of spectra (`nm380`,
 * SPEC_380, R_380) and of light (ILLUMINATION_NAME, OBSERVER_ANGLE, SPECTRAL_NORM) are in files that programs write.
 * @throws Problem `import-unreadable`
 */
export function readCgats(text: string, viewing: ViewingDefaults): ImportReading {
  const sets = readTables(text).flatMap((table) => {
    const read = makeSetReader(table, viewing);
    return table.sets.map((set) => ({ set, read, fields: table.fields }));
  });
  return collectRows(
    'cgats',
    sets,
    ({ set, fields }) => ({ line: set.line, finish: codeOf(set, fields) || null }),
    ({ set, read }) => read(set),
  );
}

const TEXTS = IMPORT_PROBLEMS['import-unreadable'];

function unreadable(line: number, detail: string, more: { expected?: unknown; received?: unknown } = {}): Problem {
  return new Problem('import-unreadable', { detail, ...more, where: `line ${line}` });
}

function readTables(text: string): Table[] {
  const tables: Table[] = [];
  const keywords = new Map<string, string[]>();
  let fields: string[] = [];
  let sets: Line[] = [];
  let inside: 'header' | 'format' | 'data' = 'header';
  const lines = text.split(/\r\n|\r|\n/);
  lines.forEach((content, i) => {
    const line = i + 1;
    const tokens = tokenise(content, line);
    const [word = ''] = tokens;
    if (tokens.length === 0) return;
    if (word === 'BEGIN_DATA_FORMAT') {
      if (inside !== 'header') throw unreadable(line, TEXTS.cgatsNestedFormat(line));
      inside = 'format';
      fields = [];
      addFields(fields, tokens.slice(1), line);
    } else if (word === 'END_DATA_FORMAT') {
      if (inside !== 'format') throw unreadable(line, TEXTS.cgatsFormatNotBegun(line));
      inside = 'header';
      checkCount('NUMBER_OF_FIELDS', fields.length, keywords, line);
    } else if (word === 'BEGIN_DATA') {
      if (inside !== 'header' || fields.length === 0) {
        throw unreadable(line, TEXTS.cgatsDataWithoutFormat(line));
      }
      inside = 'data';
      sets = [];
    } else if (word === 'END_DATA') {
      if (inside !== 'data') throw unreadable(line, TEXTS.cgatsDataNotBegun(line));
      inside = 'header';
      const whole = joinSets(sets, fields.length);
      checkCount('NUMBER_OF_SETS', whole.length, keywords, line);
      if (tables.length >= MOST_KEYWORDS) throw unreadable(line, TEXTS.cgatsTooMany(line, 'tables', MOST_KEYWORDS));
      tables.push({ fields: fields.map((field) => field.toUpperCase()), sets: whole, keywords: new Map(keywords) });
    } else if (inside === 'format') addFields(fields, tokens, line);
    else if (inside === 'data') sets.push({ line, tokens });
    else addKeyword(keywords, word, tokens.slice(1), line);
  });
  if (inside === 'header' && tables.length > 0) return tables;
  throw unreadable(
    lines.length,
    inside === 'header'
      ? TEXTS.cgatsNoData(lines.length)
      : TEXTS.cgatsCutOff(lines.length, inside === 'data' ? 'data' : 'data format'),
  );
}

/** WEIGHTING_FUNCTION may occur several times, and its values add up; of other keywords the last one counts. */
function addKeyword(keywords: Map<string, string[]>, word: string, values: readonly string[], line: number): void {
  const key = word.toUpperCase();
  const before = key === 'WEIGHTING_FUNCTION' ? (keywords.get(key) ?? []) : [];
  if (keywords.size >= MOST_KEYWORDS || before.length + values.length > MOST_KEYWORDS)
    throw unreadable(line, TEXTS.cgatsTooMany(line, 'keywords', MOST_KEYWORDS));
  keywords.set(key, [...before, ...values]);
}

/** Adds one by one: a call takes no more than some hundred thousand arguments. */
function addFields(fields: string[], tokens: readonly string[], line: number): void {
  if (fields.length + tokens.length > MOST_FIELDS)
    throw unreadable(line, TEXTS.cgatsTooMany(line, 'fields', MOST_FIELDS), { expected: MOST_FIELDS });
  for (const token of tokens) fields.push(token);
}

function checkCount(
  keyword: string,
  found: number,
  keywords: ReadonlyMap<string, readonly string[]>,
  line: number,
): void {
  const said = keywords.get(keyword)?.[0];
  if (said === undefined || Number(said) === found) return;
  throw unreadable(line, TEXTS.cgatsCount(line, keyword, said.slice(0, 20), found), {
    expected: said.slice(0, 20),
    received: found,
  });
}

/**
 * Splits a line into words at white space. A “quoted” word may contain white space, and doubled quotes in it mean one.
 * # starts a comment. No pattern matches a whole quoted word, since a long one would overflow the stack.
 */
function tokenise(content: string, line: number): string[] {
  const tokens: string[] = [];
  const next = /[^\s"]+|"/g;
  for (let match = next.exec(content); match; match = next.exec(content)) {
    const [word] = match;
    if (word.startsWith('#')) break;
    if (word !== '"') {
      addToken(tokens, word, line);
      continue;
    }
    const start = next.lastIndex;
    let end = content.indexOf('"', start);
    while (end >= 0 && content[end + 1] === '"') end = content.indexOf('"', end + 2);
    if (end < 0) throw unreadable(line, TEXTS.cgatsOpenQuote(line));
    addToken(tokens, content.slice(start, end).replaceAll('""', '"'), line);
    next.lastIndex = end + 1;
  }
  return tokens;
}

function addToken(tokens: string[], word: string, line: number): void {
  if (word.length > MOST_CHARACTERS) throw unreadable(line, TEXTS.cgatsLongWord(line, word.length, MOST_CHARACTERS));
  tokens.push(word);
}

/**
 * Makes one set of each line. Where no line has all fields, it counts words instead, since a set may span several
 * lines.
 */
function joinSets(lines: readonly Line[], fields: number): Line[] {
  if (lines.some(({ tokens }) => tokens.length === fields)) return [...lines];
  const all = lines.flatMap(({ line, tokens }) => tokens.map((token) => ({ line, token })));
  if (all.length % fields !== 0) return [...lines];
  return Array.from({ length: all.length / fields }, (_, i) => {
    const set = all.slice(i * fields, (i + 1) * fields);
    return { line: set[0]!.line, tokens: set.map(({ token }) => token) };
  });
}

const IDS = ['SAMPLE_ID', 'SAMPLEID'];
const NAMES = ['SAMPLE_NAME', 'SAMPLENAME'];

function cellOf({ tokens }: Line, fields: readonly string[], names: readonly string[]): string | undefined {
  const at = fields.findIndex((field) => names.includes(field));
  return at < 0 ? undefined : tokens[at]?.trim();
}

const codeOf = (set: Line, fields: readonly string[]) => cellOf(set, fields, IDS) || cellOf(set, fields, NAMES) || '';

function makeSetReader({ fields, keywords }: Table, defaults: ViewingDefaults): (set: Line) => MeasuredRow {
  const viewing = tidyViewing(readViewing(keywords), defaults);
  const divisor = readNorm(keywords);
  return (set) => {
    const { tokens, line } = set;
    if (tokens.length !== fields.length) {
      throw new Problem('import-unreadable', {
        detail: TEXTS.cgatsTokenCount(fields.length, tokens.length),
        expected: fields.length,
        received: tokens.length,
      });
    }
    const code = codeOf(set, fields);
    const name = cellOf(set, fields, NAMES);
    return {
      line,
      code,
      ...(name && { name }),
      colour: readColours(tokens, fields, divisor, viewing),
    };
  };
}

function readColours(
  tokens: readonly string[],
  fields: readonly string[],
  divisor: number,
  { geometry, ...light }: ViewingDefaults,
): GivenColour {
  const spectrum = gatherSpectrum(listReadings(tokens, fields, divisor));
  if (spectrum) return { spectrum, ...(geometry !== undefined && { geometry }) };
  const viewing = { ...light, ...(geometry !== undefined && { geometry }) };
  const three = (names: readonly string[]) => {
    const at = names.map((name) => fields.indexOf(name));
    return at.every((i) => i >= 0) ? at.map((i) => readNumber(tokens[i]!, fields[i]!)) : null;
  };
  const lab = three(['LAB_L', 'LAB_A', 'LAB_B']);
  if (lab) return { lab, ...viewing };
  const xyz = three(['XYZ_X', 'XYZ_Y', 'XYZ_Z']);
  return xyz ? { xyz, ...viewing } : {};
}

/** nm380, SPECTRAL_NM380, SPECTRAL_380, SPEC_380, R_380 and similar; SPECTRAL_PCT380 is percent. */
const WAVELENGTH = /^(?:SPECTRAL_?NM_?|SPECTRAL_?DEC_?|(SPECTRAL_?PCT_?)|SPECTRAL_?|SPEC_?|NM_?|R_?)(\d{3,4})(?:NM)?$/;

function listReadings(tokens: readonly string[], fields: readonly string[], divisor: number): [number, number][] {
  let nm: number | null = null;
  return fields.flatMap((field, i): [number, number][] => {
    const token = tokens[i]!;
    const [, percent, wavelength] = WAVELENGTH.exec(field) ?? [];
    if (wavelength) return [[Number(wavelength), readNumber(token, field) / (percent ? 100 : divisor)]];
    // pairs of fields, one of which has the wavelength
    if (field === 'SPECTRAL_NM') nm = readNumber(token, field);
    else if ((field === 'SPECTRAL_DEC' || field === 'SPECTRAL_PCT') && nm !== null) {
      return [[nm, readNumber(token, field) / (field === 'SPECTRAL_PCT' ? 100 : divisor)]];
    }
    return [];
  });
}

/** SPECTRAL_NORM is the value that means a reflectance of 1: 1, or 100 for percent. */
function readNorm(keywords: ReadonlyMap<string, readonly string[]>): number {
  return Number(keywords.get('SPECTRAL_NORM')?.[0]) === 100 ? 100 : 1;
}

/** Keywords of the standard first, then those that instrument makers also use. */
function readViewing(keywords: ReadonlyMap<string, readonly string[]>): ViewingDefaults {
  const said = (keyword: string) => keywords.get(keyword)?.join(' ') ?? '';
  const weighting = said('WEIGHTING_FUNCTION');
  const source = said('MEASUREMENT_SOURCE');
  const illuminant =
    /ILLUMINANT\s*,\s*([\w.]+)/i.exec(weighting)?.[1] ??
    /Illumination=([\w.]+)/i.exec(source)?.[1] ??
    said('ILLUMINATION_NAME');
  const observer =
    /OBSERVER\s*,\s*(\d+)/i.exec(weighting)?.[1] ?? /ObserverAngle=(\d+)/i.exec(source)?.[1] ?? said('OBSERVER_ANGLE');
  return { illuminant, observer, geometry: said('MEASUREMENT_GEOMETRY') };
}
