import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { discontinueFinish } from '../../actions/discontinue-finish.ts';
import { getLine } from '../../actions/get-line.ts';
import { putLine } from '../../actions/put-line.ts';
import { putRules } from '../../actions/put-rules.ts';
import type { Line } from '../../core/line/line.ts';
import { sayRule } from '../../core/line/say-rule.ts';
import type { DiscontinueAnswer, LineListAnswer, RulesAnswer } from '../answers.ts';
import { AuthorHeaders } from '../contracts/author.ts';
import { DiscontinueBody, LineBody, RulesBody } from '../contracts/line.ts';
import { readAuthor } from '../read-author.ts';

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

  app.get<{ Params: { line: string } }>(
    '/api/lines/:line/rules',
    { schema: { summary: 'What may stand beside what, over all positions of a line', tags: ['lines'] } },
    async ({ params }): Promise<RulesAnswer> => describeRules(await getLine(context, params.line)),
  );

  app.put<{ Params: { line: string }; Body: RulesBody }>(
    '/api/lines/:line/rules',
    { schema: { summary: 'Store the rules of a line whole', tags: ['lines'], body: RulesBody } },
    async ({ params, body }): Promise<RulesAnswer> => {
      await putRules(context, params.line, body.rules);
      return describeRules(await getLine(context, params.line));
    },
  );

  app.post<{ Params: { line: string }; Body: DiscontinueBody }>(
    '/api/lines/:line/discontinue',
    {
      schema: {
        summary: 'Sell a finish no more: variants withdrawn or made anew, defaults moved; a preview changes nothing',
        tags: ['lines'],
        body: DiscontinueBody,
        headers: AuthorHeaders,
      },
    },
    async ({ params, body, headers }): Promise<DiscontinueAnswer> => {
      const author = readAuthor(headers);
      const { products, ...plan } = await discontinueFinish(context, params.line, body, author);
      return {
        ...plan,
        preview: body.preview ?? false,
        products: products.map(({ schedule, ...product }) => ({ ...product, variants: schedule.variants.length })),
      };
    },
  );
}

function describeRules({ rules, positions }: Line): RulesAnswer {
  return { rules, words: rules.map((rule) => sayRule(rule, positions)) };
}
