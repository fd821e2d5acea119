import type { Author } from '../core/history/history.ts';
import type { Context } from './context.ts';
import { unknownFinish } from './load-product.ts';

/**
 * Deletes a finish that nothing uses; its history stays.
 * @throws Problem `unknown-finish-code`, `finish-in-use`
 */
export async function deleteFinish(
  { stores, now }: Pick<Context, 'stores' | 'now'>,
  code: string,
  author: Author,
): Promise<void> {
  if (!(await stores.getFinish(code))) throw unknownFinish(code);
  await stores.deleteFinish(code, { ...author, at: now().toISOString() });
}
