import type { FastifyInstance, FastifyReply } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { discontinueFinish } from '../../actions/discontinue-finish.ts';
import { getLine, getTaggedLine } from '../../actions/get-line.ts';
import { putLine } from '../../actions/put-line.ts';
import { putRules } from '../../actions/put-rules.ts';
import { describeRule } from '../../core/line/describe-rule.ts';
import type { Line } from '../../core/line/line.ts';
import type { DiscontinueAnswer, LineListAnswer, RulesAnswer } from '../answers.ts';
import { AuthorHeaders } from '../contracts/author.ts';
import { DiscontinueBody, LineBody, RulesBody } from '../contracts/line.ts';
import { readAuthor } from '../read-author.ts';
import { readIfMatch } from '../read-if-match.ts';

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
    async (request, reply): Promise<Line | FastifyReply> => {
      const line = await readTagged(context, request.params.line, reply);
      if (request.headers['if-none-match'] === reply.getHeader('etag')) return reply.status(304).send();
      return line;
    },
  );

  app.put<{ Params: { line: string }; Body: LineBody }>(
    '/api/lines/:line',
    {
      schema: {
        summary: 'Store a line whole; If-Match guards against overwriting',
        tags: ['lines'],
        body: LineBody,
      },
    },
    async (request, reply) => {
      const { params, body } = request;
      const { created } = await putLine(context, params.line, body, readIfMatch(request));
      return reply.status(created ? 201 : 200).send(await readTagged(context, params.line, reply));
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
    async ({ params }, reply): Promise<RulesAnswer> => describeRules(await readTagged(context, params.line, reply)),
  );

  app.put<{ Params: { line: string }; Body: RulesBody }>(
    '/api/lines/:line/rules',
    {
      schema: {
        summary: 'Store the rules of a line whole; If-Match takes the tag of the line',
        tags: ['lines'],
        body: RulesBody,
      },
    },
    async (request, reply): Promise<RulesAnswer> => {
      const { params, body } = request;
      await putRules(context, params.line, body.rules, readIfMatch(request));
      return describeRules(await readTagged(context, params.line, reply));
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
    async (request): Promise<DiscontinueAnswer> => {
      const { params, body } = request;
      const author = readAuthor(request.headers);
      const { products, ...plan } = await discontinueFinish(context, params.line, body, author, readIfMatch(request));
      return {
        ...plan,
        preview: body.preview ?? false,
        products: products.map(({ schedule, ...product }) => ({ ...product, variants: schedule.variants.length })),
      };
    },
  );
}

/** The line, with its tag in the head of the answer. */
async function readTagged(context: Context, code: string, reply: FastifyReply): Promise<Line> {
  const { line, tag } = await getTaggedLine(context, code);
  reply.header('etag', `"${tag}"`);
  return line;
}

function describeRules({ rules, positions }: Line): RulesAnswer {
  return { rules, words: rules.map((rule) => describeRule(rule, positions)) };
}
