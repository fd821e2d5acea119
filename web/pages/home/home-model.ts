import { computed, signal } from '@preact/signals';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import { get, getErrorMessage } from '../../api.ts';
import { listProducts } from '../../parts/list-products.ts';

export interface LineGroup {
  /** Null for products without a line. */
  readonly line: LineListAnswer['lines'][number] | null;
  readonly products: readonly ProductAnswer[];
}

/** The state of the home page: lines with their products. */
export function createHomeModel() {
  const lines = signal<LineListAnswer['lines'] | null>(null);
  const products = signal<readonly ProductAnswer[]>([]);
  const problem = signal<string | null>(null);

  async function load(): Promise<void> {
    try {
      const [lineList, productList] = await Promise.all([get<LineListAnswer>('/api/lines'), listProducts()]);
      products.value = productList;
      lines.value = lineList.lines;
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  const groups = computed(() => groupByLine(lines.value ?? [], products.value));
  return { lines, products, problem, groups, load };
}

/** The lines in order, each with its products. Products without a line come last. */
function groupByLine(lines: LineListAnswer['lines'], products: readonly ProductAnswer[]): readonly LineGroup[] {
  const groups: LineGroup[] = lines.map((line) => ({
    line,
    products: products.filter((product) => product.line === line.line),
  }));
  const withoutLine = products.filter((product) => !lines.some((line) => line.line === product.line));
  return withoutLine.length > 0 ? [...groups, { line: null, products: withoutLine }] : groups;
}
