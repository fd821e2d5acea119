import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { putLine } from '../../actions/put-line.ts';
import type { Line } from '../../core/line/line.ts';
import { Problem } from '../../core/problems.ts';
import type { LineListAnswer } from '../answers.ts';
import { LineBody } from '../contracts/product.ts';

export function addLineRoutes(app: FastifyInstance, context: Context): void {
  app.get(
    '/api/lines',
    { schema: { summary: 'Product lines', tags: ['lines'] } },
    async (): Promise<LineListAnswer> => {
      const [lines, products] = await Promise.all([context.stores.listLines(), context.stores.listProducts()]);
      return {
        lines: lines.map((line) => ({
          ...line,
          products: products.filter((product) => product.line === line.line).map((product) => product.code),
        })),
      };
    },
  );

  app.get<{ Params: { line: string } }>(
    '/api/lines/:line',
    { schema: { summary: 'A line with its positions and range', tags: ['lines'] } },
    async ({ params }) => getLine(context, params.line),
  );

  app.put<{ Params: { line: string }; Body: LineBody }>(
    '/api/lines/:line',
    { schema: { summary: 'Store a line whole', tags: ['lines'], body: LineBody } },
    async ({ params, body }, reply) => {
      const { line, created } = await putLine(context, params.line, body);
      return reply.status(created ? 201 : 200).send(line);
    },
  );

  app.delete<{ Params: { line: string } }>(
    '/api/lines/:line',
    { schema: { summary: 'Delete a line that no product belongs to', tags: ['lines'] } },
    async ({ params }, reply) => {
      await getLine(context, params.line);
      await context.stores.deleteLine(params.line);
      return reply.status(204).send();
    },
  );
}

async function getLine({ stores }: Context, code: string): Promise<Line> {
  const line = await stores.getLine(code);
  if (line) return line;
  throw new Problem('unknown-line-code', {
    detail: `There is no line with the code “${code.slice(0, 80)}”. GET /api/lines lists them.`,
    received: code.slice(0, 80),
  });
}
