import { checkName, KEY_PATTERN } from '../codes.ts';
import { Problem } from '../problems.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { BUDGETS, type Budget, type Limit } from './budgets.ts';

const FIELDS = ['name', 'label', 'source', 'fileBytes', 'triangles', 'draws', 'texturePx', 'jpegQuality'] as const;

/** Any limit is below this: a thousand million, well above what a model can hold here. */
const LARGEST = 1e12;
/** A texture smaller than 16 px says nothing, one larger than 16384 px is taken by no graphics card. */
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
