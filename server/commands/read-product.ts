import { ConfigError } from '../config.ts';
import { MOUNTS } from '../core/picture/picture.ts';
import { BUDGETS, DEFAULT_BUDGET } from '../core/product/budgets.ts';
import { CLASSES, type Product, type Sheet } from '../core/product/product.ts';

/** Options by which a command is told what a model is a model of. */
export const PRODUCT_OPTIONS = {
  class: { type: 'string' },
  mount: { type: 'string' },
  size: { type: 'string' },
  budget: { type: 'string' },
} as const;

type Given = Partial<Record<keyof typeof PRODUCT_OPTIONS, string | boolean>>;

/** @throws ConfigError */
export function readProduct(given: Given): Product {
  return {
    code: 'model',
    name: 'model',
    line: null,
    class: pick('class', given.class, CLASSES, 'none'),
    mount: pick('mount', given.mount, MOUNTS, 'floor'),
    sheet: given.size === undefined ? null : readSize(String(given.size)),
    budget: pick(
      'budget',
      given.budget,
      BUDGETS.map((budget) => budget.name),
      DEFAULT_BUDGET,
    ),
  };
}

function pick<T extends string>(option: string, given: string | boolean | undefined, known: readonly T[], usual: T): T {
  if (given === undefined) return usual;
  if ((known as readonly unknown[]).includes(given)) return given as T;
  throw new ConfigError(`--${option} takes ${known.join(', ')}; it was given “${given}”.`);
}

/** `460x520x820`: width, depth and height in mm. */
function readSize(text: string): Sheet {
  const figures = /^(\d+(?:\.\d+)?)[x×](\d+(?:\.\d+)?)[x×](\d+(?:\.\d+)?)$/.exec(text)?.slice(1).map(Number);
  if (!figures || figures.some((mm) => mm <= 0)) {
    throw new ConfigError(`--size takes width × depth × height in mm, such as 460x520x820; it was given “${text}”.`);
  }
  const [widthMm, depthMm, heightMm] = figures as [number, number, number];
  return { widthMm, depthMm, heightMm };
}
