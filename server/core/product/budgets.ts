import { checkName, KEY_PATTERN } from '../codes.ts';
import { Problem } from '../problems.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';

/** Limits of a figure. Beyond `recommended` is a note, beyond `maximum` a warning. */
export interface Limit {
  readonly recommended: number;
  /** Null if no source states one. Going beyond the recommendation is then a note. */
  readonly maximum: number | null;
}

/** A set of limits for a model. */
export interface Budget {
  /** The key by which products refer to it: `[a-z0-9-]{1,64}`. */
  readonly name: string;
  readonly label: string;
  /** Where the figures come from, in words. */
  readonly source: string;
  readonly fileBytes: Limit;
  /** Triangles in the scene, counting instances. */
  readonly triangles: Limit;
  /** Draws of the scene, counting instances. */
  readonly draws: Limit;
  /** Longest side of any image, px. A maximum, because reducing an image is easy. */
  readonly texturePx: number;
  /** JPEG quality, 1–100, below which there is a finding. */
  readonly jpegQuality: number;
}

/** Megabytes are decimal. Of the two readings of “MB”, this one keeps a file within the limit either way. */
const MB = 1_000_000;

/** JPEG quality in the trade (common practice): 80–90 for the web, 90–100 for masters. */
const WEB_JPEG = 80;
const MASTER_JPEG = 90;

/**
 * The built-in budgets.
 *
 * The Khronos guidelines contradict themselves. Their summary says 5 MB and 100,000 triangles. Their table of
 * publishing targets says 3 MB and 150,000 for “mobile AR / 3D web catalogue”. Dyeworks uses the table, because only
 * the table tells the targets apart, and its 3 MB agrees with the document's own aim of three seconds at 10 Mb/s (3.75
 * MB). Only draws have a maximum there; sizes and triangles are aims.
 */
export const BUDGETS: readonly Budget[] = [
  {
    name: 'web-catalogue',
    label: 'Web catalogue',
    source:
      'Khronos 3D Commerce Asset Creation Guidelines 1.0 (2020), publishing targets, row “Mobile AR / 3D web catalogue”: 3 MB, 150,000 triangles, under 20 draws and 500 at most, 2K textures. The summary of the same document says 5 MB and 100,000 triangles, but the row covers this use.',
    fileBytes: { recommended: 3 * MB, maximum: null },
    triangles: { recommended: 150_000, maximum: null },
    draws: { recommended: 20, maximum: 500 },
    texturePx: 2048,
    jpegQuality: WEB_JPEG,
  },
  {
    name: 'ar',
    label: 'AR and shopping feeds',
    source:
      'Google Merchant Center, attribute virtual_model_link: 10 MB recommended, 15 MB at most, textures up to 2K (one version of the page says 4K is not supported). Triangles and draws, which it does not state: Khronos 3D Commerce Asset Creation Guidelines 1.0, row “Mobile AR / 3D web catalogue”.',
    fileBytes: { recommended: 10 * MB, maximum: 15 * MB },
    triangles: { recommended: 150_000, maximum: null },
    draws: { recommended: 20, maximum: 500 },
    texturePx: 2048,
    jpegQuality: WEB_JPEG,
  },
  {
    name: 'print',
    label: 'Print and large pictures',
    source:
      'No published source: judgement. A still picture waits for its model, so the limits only keep a model within what one graphics card holds: 8192 px textures, 2 million triangles. JPEG of 90 and more is common practice for masters.',
    fileBytes: { recommended: 100 * MB, maximum: 300 * MB },
    triangles: { recommended: 2_000_000, maximum: null },
    draws: { recommended: 200, maximum: 2000 },
    texturePx: 8192,
    jpegQuality: MASTER_JPEG,
  },
];

export const DEFAULT_BUDGET = 'web-catalogue';

/** Finds a budget by name, a studio's own before the built-in ones. Undefined if there is none. */
export function findBudget(name: string, own: readonly Budget[] = []): Budget | undefined {
  return [...own, ...BUDGETS].find((budget) => budget.name === name);
}

const FIELDS = ['name', 'label', 'source', 'fileBytes', 'triangles', 'draws', 'texturePx', 'jpegQuality'] as const;

/** Any limit must be below this: a thousand million, well above any model Dyeworks can hold. */
const LARGEST = 1e12;
/** A texture smaller than 16 px shows nothing; no graphics card accepts one larger than 16384 px. */
const TEXTURE_PX = [16, 16384] as const;
const SOURCE_LENGTH = 1000;

/**
 * Reads a studio's own budget from JSON. `source` and `jpegQuality` may be left out.
 * @throws Problem `invalid-field`, `unknown-field`, `invalid-name`, `name-too-long`
 */
export function readBudget(value: unknown): Budget {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    refuse('', PRODUCT_PROBLEMS['invalid-field'].budget, 'an object', value);
  }
  const given = value as Record<string, unknown>;
  for (const field of Object.keys(given)) {
    if ((FIELDS as readonly string[]).includes(field)) continue;
    throw new Problem('unknown-field', {
      detail: PRODUCT_PROBLEMS['unknown-field'].budget(field.slice(0, 60)),
      expected: FIELDS,
      received: field.slice(0, 60),
      where: `/${field.slice(0, 60)}`,
    });
  }
  return {
    name: readKey(given.name),
    label: checkName(readText(given.label, '/label'), '/label'),
    source: given.source === undefined ? 'Set by the studio.' : readSource(given.source),
    fileBytes: readLimit(given.fileBytes, '/fileBytes'),
    triangles: readLimit(given.triangles, '/triangles'),
    draws: readLimit(given.draws, '/draws'),
    texturePx: readWhole(given.texturePx, '/texturePx', ...TEXTURE_PX),
    jpegQuality: given.jpegQuality === undefined ? 80 : readWhole(given.jpegQuality, '/jpegQuality', 1, 100),
  };
}

function readKey(value: unknown): string {
  const name = readText(value, '/name');
  if (!new RegExp(KEY_PATTERN).test(name)) {
    refuse('/name', PRODUCT_PROBLEMS['invalid-field'].budgetName, KEY_PATTERN, name);
  }
  if (BUDGETS.some((budget) => budget.name === name)) {
    const taken = BUDGETS.map((budget) => budget.name).join(', ');
    refuse('/name', PRODUCT_PROBLEMS['invalid-field'].builtInBudget(name), `none of ${taken}`, name);
  }
  return name;
}

function readSource(value: unknown): string {
  const source = readText(value, '/source').trim();
  if (source.length === 0 || source.length > SOURCE_LENGTH) {
    const expected = `1 to ${SOURCE_LENGTH} characters`;
    refuse(
      '/source',
      PRODUCT_PROBLEMS['invalid-field'].budgetSource(SOURCE_LENGTH),
      expected,
      `${source.length} characters`,
    );
  }
  return source;
}

function readLimit(value: unknown, where: string): Limit {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    refuse(where, PRODUCT_PROBLEMS['invalid-field'].limit, '{recommended, maximum?}', value);
  }
  const given = value as Record<string, unknown>;
  const odd = Object.keys(given).find((field) => field !== 'recommended' && field !== 'maximum');
  if (odd !== undefined)
    refuse(`${where}/${odd}`, PRODUCT_PROBLEMS['invalid-field'].limitField(odd), 'recommended, maximum', odd);
  const recommended = readWhole(given.recommended, `${where}/recommended`, 1, LARGEST);
  const maximum =
    given.maximum === undefined || given.maximum === null
      ? null
      : readWhole(given.maximum, `${where}/maximum`, 1, LARGEST);
  if (maximum !== null && maximum < recommended) {
    const expected = `${recommended} or more`;
    refuse(`${where}/maximum`, PRODUCT_PROBLEMS['invalid-field'].limitOrder, expected, maximum);
  }
  return { recommended, maximum };
}

function readText(value: unknown, where: string): string {
  if (typeof value !== 'string') refuse(where, PRODUCT_PROBLEMS['invalid-field'].notText, 'text', value);
  return value as string;
}

function readWhole(value: unknown, where: string, low: number, high: number): number {
  if (!Number.isInteger(value) || (value as number) < low || (value as number) > high) {
    refuse(where, PRODUCT_PROBLEMS['invalid-field'].notWhole(low, high), `a whole number, ${low}–${high}`, value);
  }
  return value as number;
}

function refuse(where: string, detail: string, expected: unknown, received: unknown): never {
  throw new Problem('invalid-field', { detail, expected, received: received ?? 'nothing', where: where || '/' });
}
