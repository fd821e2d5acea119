import type { ProductAnswer, ProductListAnswer } from '../../server/http/contracts/product.ts';
import { get, seg } from '../api.ts';

/** All products of a line, page by page. */
export async function listProducts(line: string): Promise<ProductAnswer[]> {
  const all: ProductAnswer[] = [];
  for (let after: number | undefined = 0; after !== undefined; ) {
    const page: ProductListAnswer = await get<ProductListAnswer>(`/api/products?line=${seg(line)}&after=${after}`);
    all.push(...page.products);
    after = page.next;
  }
  return all;
}
