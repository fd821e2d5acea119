import { batch, computed, signal } from '@preact/signals';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import type { ProductAnswer, ProductListAnswer } from '../../../server/http/contracts/product.ts';
import { get, getErrorMessage } from '../../api.ts';

/** Which products the page shows; it stands in the address. */
export interface ProductFilter {
  /** Words of a code or a name. */
  readonly q: string;
  /** Code of a line, empty for products without a line, null for all products. */
  readonly line: string | null;
  readonly attention: boolean;
  readonly outdated: boolean;
}

export const EVERYTHING: ProductFilter = { q: '', line: null, attention: false, outdated: false };

/** Rows of pictures for three screens. */
const PAGE_PRODUCTS = 36;
/** Most pauses between two typed letters are shorter. */
const PAUSE_MS = 200;

/** The state of the home page: the lines, and the products that match the search and the filters, page by page. */
export function createHomeModel() {
  const lines = signal<LineListAnswer['lines'] | null>(null);
  /** Null until the first answer. */
  const products = signal<readonly ProductAnswer[] | null>(null);
  const next = signal<number | null>(null);
  const filter = signal(readFilter(location.search));
  const problem = signal<string | null>(null);
  const busy = signal(false);
  const isFiltered = computed(() => writeFilter(filter.value) !== '');
  let waiting: ReturnType<typeof setTimeout> | undefined;
  let latest = 0;

  /** Reads lines and products again, as many as are shown. Of several answers, that to the last call counts. */
  async function load(): Promise<void> {
    const asked = ++latest;
    busy.value = true;
    try {
      const limit = Math.max(PAGE_PRODUCTS, products.value?.length ?? 0);
      const [lineList, found] = await Promise.all([get<LineListAnswer>('/api/lines'), list(limit, 0)]);
      if (asked !== latest) return;
      batch(() => {
        lines.value = lineList.lines;
        receive(found, []);
      });
    } catch (error) {
      if (asked === latest) problem.value = getErrorMessage(error);
    } finally {
      if (asked === latest) busy.value = false;
    }
  }

  async function showMore(): Promise<void> {
    if (next.value === null) return;
    const asked = ++latest;
    busy.value = true;
    try {
      const found = await list(PAGE_PRODUCTS, next.value);
      if (asked === latest) receive(found, products.value ?? []);
    } catch (error) {
      if (asked === latest) problem.value = getErrorMessage(error);
    } finally {
      if (asked === latest) busy.value = false;
    }
  }

  function list(limit: number, after: number): Promise<ProductListAnswer> {
    const query = new URLSearchParams(writeFilter(filter.value));
    query.set('limit', String(limit));
    if (after > 0) query.set('after', String(after));
    return get<ProductListAnswer>(`/api/products?${query}`);
  }

  function receive(found: ProductListAnswer, before: readonly ProductAnswer[]): void {
    products.value = [...before, ...found.products];
    next.value = found.next ?? null;
    problem.value = null;
  }

  /** Changes the filter and the address. A typed search waits for a pause. */
  function change(part: Partial<ProductFilter>): void {
    filter.value = { ...filter.value, ...part };
    const query = writeFilter(filter.value);
    history.replaceState(history.state, '', query === '' ? '/' : `/?${query}`);
    clearTimeout(waiting);
    waiting = setTimeout(search, part.q === undefined ? 0 : PAUSE_MS);
  }

  function search(): void {
    products.value = products.value?.slice(0, PAGE_PRODUCTS) ?? null;
    void load();
  }

  return { lines, products, next, filter, isFiltered, problem, busy, load, showMore, change };
}

export type HomeModel = ReturnType<typeof createHomeModel>;

/** The filter in an address; what it does not know is ignored. */
export function readFilter(search: string): ProductFilter {
  const query = new URLSearchParams(search);
  return {
    q: query.get('q') ?? '',
    line: query.get('line'),
    attention: query.get('attention') === '1',
    outdated: query.get('outdated') === '1',
  };
}

/** The filter as the query of an address, which the service reads as well; empty without a filter. */
export function writeFilter({ q, line, attention, outdated }: ProductFilter): string {
  const query = new URLSearchParams();
  if (q.trim() !== '') query.set('q', q.trim());
  if (line !== null) query.set('line', line);
  if (attention) query.set('attention', '1');
  if (outdated) query.set('outdated', '1');
  return query.toString();
}
