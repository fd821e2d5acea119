import { parseArgs } from 'node:util';
import { ConfigError } from '../config.ts';
import { splitList } from '../core/codes.ts';
import { MOUNTS } from '../core/picture/picture.ts';
import { BUDGETS, DEFAULT_BUDGET } from '../core/product/budgets.ts';
import { CLASSES, type Product, type Sheet } from '../core/product/product.ts';
import { CALL_TEXTS } from './texts.ts';

interface Option {
  readonly type: 'string' | 'boolean';
  readonly short?: string;
  readonly required?: boolean;
}

/**
 * Reads a command's arguments: files in order, and options with a value (`string`) or without (`boolean`).
 * @param files the files that the command expects, such as `a model`
 * @throws ConfigError when something is missing or unknown
 */
export function readArguments<K extends string>(
  args: readonly string[],
  files: readonly string[],
  options: Readonly<Record<K, Option>>,
): { readonly files: readonly string[]; readonly options: Partial<Record<K, string | boolean>> } {
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({ args: [...args], options, allowPositionals: true, strict: true });
  } catch (error) {
    throw new ConfigError(CALL_TEXTS.unreadableArguments((error as Error).message));
  }
  const { positionals, values } = parsed;
  if (positionals.length !== files.length) throw new ConfigError(CALL_TEXTS.wrongFiles(files, positionals.length));
  for (const [name, { required, short }] of Object.entries<Option>(options)) {
    if (required && values[name] === undefined) throw new ConfigError(CALL_TEXTS.missingOption(name, short));
  }
  return { files: positionals, options: values as Partial<Record<K, string | boolean>> };
}

/** The value of an option that takes one of some words; undefined when the call does not have it. @throws ConfigError */
export function readChoice<T extends string>(
  name: string,
  value: string | boolean | undefined,
  choices: readonly T[],
): T | undefined {
  if (value === undefined) return undefined;
  const chosen = choices.find((choice) => choice === value);
  if (chosen !== undefined) return chosen;
  throw new ConfigError(CALL_TEXTS.wrongChoice(name, choices, value));
}

/** A list with commas between; empty when the call does not have the option. */
export function readList(value: string | boolean | undefined): string[] {
  return splitList(String(value ?? ''));
}

/** Options that describe the product of a model. */
export const PRODUCT_OPTIONS = {
  class: { type: 'string' },
  mount: { type: 'string' },
  size: { type: 'string' },
  budget: { type: 'string' },
} as const;

/** @throws ConfigError */
export function readProduct(given: Partial<Record<keyof typeof PRODUCT_OPTIONS, string | boolean>>): Product {
  const budgets = BUDGETS.map(({ name }) => name);
  return {
    code: 'model',
    name: 'model',
    line: null,
    class: readChoice('class', given.class, CLASSES) ?? 'none',
    mount: readChoice('mount', given.mount, MOUNTS) ?? 'floor',
    sheet: given.size === undefined ? null : readSize(String(given.size)),
    budget: readChoice('budget', given.budget, budgets) ?? DEFAULT_BUDGET,
  };
}

/** `460x520x820`: width, depth and height in mm. */
function readSize(text: string): Sheet {
  const figures = /^(\d+(?:\.\d+)?)[x×](\d+(?:\.\d+)?)[x×](\d+(?:\.\d+)?)$/.exec(text)?.slice(1).map(Number);
  if (!figures || figures.some((mm) => mm <= 0)) throw new ConfigError(CALL_TEXTS.wrongProductSize(text));
  const [widthMm, depthMm, heightMm] = figures as [number, number, number];
  return { widthMm, depthMm, heightMm };
}
