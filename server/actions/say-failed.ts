import { Problem } from '../core/problems.ts';
import { isBusyNow } from './retry-while-busy.ts';

/**
 * Why a part of a job did not come out, in words that stand in a list. What is busy now stays as it is: it is tried again.
 * @param variant or the finish of a swatch
 */
export function sayFailed(error: unknown, product: string, variant: string): unknown {
  if (!(error instanceof Problem) || isBusyNow(error)) return error;
  const { code, more } = error;
  return new Problem(code, { ...more, detail: describe(error, product, variant), cause: error });
}

/** What is true of a whole product or variant is said in the same words each time, and then stands once. */
function describe({ code, message }: Problem, product: string, variant: string): string {
  if (code === 'unknown-product') return sayGone(product);
  if (code === 'unknown-variant') {
    return `${product}: the variant ${variant} is not in the schedule any more; it was when the job began.`;
  }
  return code === 'no-model' ? `${product}: ${message}` : `${product} ${variant}: ${message}`;
}

/** Of a product that was deleted under its job. */
export function sayGone(product: string): string {
  return `${product} was deleted after the job began; its pictures are not made.`;
}
