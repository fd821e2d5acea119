import type { FastifyInstance, FastifyReply } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { discontinueFinish } from '../../actions/discontinue-finish.ts';
import { deleteLine, getTaggedLine, putLine, putRules } from '../../actions/edit-line.ts';
import { describeRule, listProductsOf } from '../../core/line/line.ts';
import { SLICE } from '../../core/slices.ts';
import {
  DiscontinueAnswer,
  DiscontinueBody,
  LineAnswer,
  LineBody,
  LineListAnswer,
  RulesAnswer,
  RulesBody,
} from '../contracts/line.ts';
import { AuthoredEditHeaders, EditHeaders } from '../contracts/precondition.ts';
import { readAuthor, readPrecondition } from '../request-parsing.ts';
import { noContent, ok, setTag, stored, tagged } from '../responses.ts';
import { sendList } from '../send-list.ts';

type ByLine = { Params: { line: string } };

const TAGS = { tags: ['lines'] };

export function addLineRoutes(app: FastifyInstance, context: Context): void {
  app.get(
    '/api/lines',
    { schema: { ...TAGS, summary: 'List all product lines', response: ok(LineListAnswer) } },
    async (): Promise<LineListAnswer> => {
      const [lines, products] = await Promise.all([context.stores.listLines(), context.stores.listProducts()]);
      return {
        lines: lines.map((line) => ({
          ...line,
          products: listProductsOf(products, line.line).map((product) => product.code),
        })),
      };
    },
  );

  app.get<ByLine>(
    '/api/lines/:line',
    { schema: { ...TAGS, summary: 'Get a line with its positions, range and rules', response: tagged(LineAnswer) } },
    async (request, reply) => {
      const line = await readTagged(context, request.params.line, reply);
      if (request.headers['if-none-match'] === reply.getHeader('etag')) return reply.status(304).send();
      return sendLine(reply, line);
    },
  );

  app.put<ByLine & { Body: LineBody }>(
    '/api/lines/:line',
    {
      schema: {
        ...TAGS,
        summary: 'Add or replace a line; If-Match protects the changes of others',
        body: LineBody,
        headers: EditHeaders,
        response: stored(LineAnswer),
      },
    },
    async (request, reply) => {
      const { params, body } = request;
      const { created } = await putLine(context, params.line, body, readPrecondition(request));
      return sendLine(reply.status(created ? 201 : 200), await readTagged(context, params.line, reply));
    },
  );

  app.delete<ByLine>(
    '/api/lines/:line',
    { schema: { ...TAGS, summary: 'Delete a line without products', headers: EditHeaders, response: noContent } },
    async (request, reply) => {
      await deleteLine(context, request.params.line, readPrecondition(request));
      return reply.status(204).send();
    },
  );

  app.get<ByLine>(
    '/api/lines/:line/rules',
    {
      schema: { ...TAGS, summary: 'Get the rules of a line: which finishes go together', response: ok(RulesAnswer) },
    },
    async ({ params }, reply): Promise<RulesAnswer> => describeRules(await readTagged(context, params.line, reply)),
  );

  app.put<ByLine & { Body: RulesBody }>(
    '/api/lines/:line/rules',
    {
      schema: {
        ...TAGS,
        summary: 'Replace the rules of a line; If-Match takes the ETag of the line',
        body: RulesBody,
        headers: EditHeaders,
        response: ok(RulesAnswer),
      },
    },
    async (request, reply): Promise<RulesAnswer> => {
      const { params, body } = request;
      await putRules(context, params.line, body.rules, readPrecondition(request));
      return describeRules(await readTagged(context, params.line, reply));
    },
  );

  app.post<ByLine & { Body: DiscontinueBody }>(
    '/api/lines/:line/discontinue',
    {
      schema: {
        ...TAGS,
        summary: 'Discontinue a finish: withdraw or replace its variants, move defaults; a preview changes nothing',
        body: DiscontinueBody,
        headers: AuthoredEditHeaders,
        response: ok(DiscontinueAnswer),
      },
    },
    async (request): Promise<DiscontinueAnswer> => {
      const { params, body } = request;
      const author = readAuthor(request.headers);
      const { products, ...plan } = await discontinueFinish(
        context,
        params.line,
        body,
        author,
        readPrecondition(request),
      );
      return {
        ...plan,
        preview: body.preview ?? false,
        products: products.map(({ schedule, ...product }) => ({ ...product, variants: schedule.variants.length })),
      };
    },
  );
}

/** Reads the line and sets its ETag. */
const sendLine = (reply: FastifyReply, { range, ...rest }: LineAnswer) =>
  sendList(reply, 'range', range, (entry) => entry, rest, SLICE);

async function readTagged(context: Context, code: string, reply: FastifyReply) {
  const { line, tag } = await getTaggedLine(context, code);
  setTag(reply, tag);
  return line;
}

function describeRules({ rules, positions }: Awaited<ReturnType<typeof readTagged>>): RulesAnswer {
  return { rules, words: rules.map((rule) => describeRule(rule, positions)) };
}
