import type { ProductAnswer, ProductListAnswer } from '../../server/http/contracts/product.ts';
import { get } from '../api.ts';

/** All products, page by page. */
export async function listProducts(): Promise<ProductAnswer[]> {
  const all: ProductAnswer[] = [];
  for (let after: number | undefined = 0; after !== undefined; ) {
    const page: ProductListAnswer = await get<ProductListAnswer>(`/api/products?after=${after}`);
    all.push(...page.products);
    after = page.next;
  }
  return all;
}
