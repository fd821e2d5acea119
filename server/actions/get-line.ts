import type { Line } from '../core/line/line.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';

/** @throws Problem `unknown-line-code` */
export async function getLine({ stores }: Pick<Context, 'stores'>, code: string): Promise<Line> {
  const line = await stores.getLine(code);
  if (line) return line;
  throw new Problem('unknown-line-code', {
    detail: `There is no line with the code “${code.slice(0, 80)}”. GET /api/lines lists them.`,
    received: code.slice(0, 80),
  });
}
