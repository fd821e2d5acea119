import { Readable } from 'node:stream';
import { setImmediate } from 'node:timers/promises';
import type { FastifyInstance, FastifyReply } from 'fastify';
import { checkProduct } from '../../actions/check-product.ts';
import type { Context } from '../../actions/context.ts';
import {
  addProduct,
  changeProduct,
  changeSlot,
  deleteBudget,
  deleteProduct,
  getBudget,
  listBudgets,
  putBudget,
  unknownSlot,
} from '../../actions/edit-product.ts';
import { listProducts, summarise } from '../../actions/list-products.ts';
import { getProduct, loadProduct } from '../../actions/load-product.ts';
import { type LoadedProduct, requireModel } from '../../actions/loaded-product.ts';
import { tagBudget, tagProduct, tagSlot } from '../../actions/tags.ts';
import { listOptions, listRange, type RangedFinish } from '../../core/line/line.ts';
import type { ProductSummary } from '../../core/ports/stores.ts';
import type { Product } from '../../core/product/product.ts';
import { KEEP_ALL, type Slot } from '../../core/product/slot.ts';
import { fillSlotDefault, proposeGrain } from '../../core/product/slot-defaults.ts';
import { callerSignal } from '../caller-signal.ts';
import { ReadinessAnswer } from '../contracts/finding.ts';
import { EditHeaders } from '../contracts/precondition.ts';
import {
  BudgetAnswer,
  BudgetBody,
  BudgetListAnswer,
  PRODUCTS_AT_ONCE,
  ProductAnswer,
  ProductBody,
  ProductChange,
  ProductListAnswer,
  ProductListQuery,
  SlotAnswer,
  SlotChangeBody,
  SlotListAnswer,
} from '../contracts/product.ts';
import { ref } from '../contracts/schema-parts.ts';
import { SurveyAnswer, SurveyQuery } from '../contracts/survey.ts';
import { readPrecondition } from '../request-parsing.ts';
import { created, noContent, ok, setTag, stored } from '../responses.ts';

type ByProduct = { Params: { product: string } };
type BySlot = { Params: { product: string; slot: string } };
type ByBudget = { Params: { budget: string } };

const TAGS = { tags: ['products'] };

/** Products, the survey and readiness of their models, their slots, and the size budgets for models. */
export function addProductRoutes(app: FastifyInstance, context: Context): void {
  const { stores } = context;

  app.get<{ Querystring: ProductListQuery }>(
    '/api/products',
    {
      schema: {
        ...TAGS,
        summary: 'List all products, those that match a search, or a page of them',
        querystring: ProductListQuery,
        response: ok(ProductListAnswer),
      },
    },
    async ({ query }): Promise<ProductListAnswer> => {
      const { limit = PRODUCTS_AT_ONCE, after = 0, q, line, attention, outdated } = query;
      const wanted = { text: q, line, attention: attention === '1', outdated: outdated === '1' };
      const { listed, next } = await listProducts(context, { limit, after }, wanted);
      return {
        products: listed.map(({ product, summary }) => toProductAnswer(product, summary)),
        ...(next !== null && { next }),
      };
    },
  );

  app.post<{ Body: ProductBody }>(
    '/api/products',
    { schema: { ...TAGS, summary: 'Add a product', body: ProductBody, response: created(ref(ProductAnswer)) } },
    async ({ body: { code, ...given } }, reply) => {
      setTag(reply, tagProduct(await addProduct(context, code, given)));
      return reply
        .status(201)
        .header('location', `/api/products/${code}`)
        .send(await describeProduct(context, code));
    },
  );

  app.get<ByProduct>(
    '/api/products/:product',
    { schema: { ...TAGS, summary: 'Get a product', response: ok(ref(ProductAnswer)) } },
    async ({ params }, reply) => {
      setTag(reply, tagProduct(await getProduct(context, params.product)));
      return describeProduct(context, params.product);
    },
  );

  app.patch<ByProduct & { Body: ProductChange }>(
    '/api/products/:product',
    {
      schema: {
        ...TAGS,
        summary: 'Change a product',
        body: ProductChange,
        headers: EditHeaders,
        response: ok(ref(ProductAnswer)),
      },
    },
    async (request, reply) => {
      const { product } = request.params;
      setTag(reply, tagProduct(await changeProduct(context, product, request.body, readPrecondition(request))));
      return describeProduct(context, product);
    },
  );

  app.delete<ByProduct>(
    '/api/products/:product',
    {
      schema: {
        ...TAGS,
        summary: 'Delete a product with its models, schedule, deliveries and approvals',
        headers: EditHeaders,
        response: noContent,
      },
    },
    async (request, reply) => {
      await deleteProduct(context, request.params.product, readPrecondition(request));
      return reply.status(204).send();
    },
  );

  app.get<ByProduct & { Querystring: SurveyQuery }>(
    '/api/products/:product/survey',
    {
      schema: {
        ...TAGS,
        summary: 'Get the measurements of the model; with pieces=1 also its connected pieces',
        querystring: SurveyQuery,
        response: ok(SurveyAnswer),
      },
    },
    async ({ params, query }): Promise<SurveyAnswer> => {
      const { survey, revision } = requireModel(await loadProduct(context, params.product));
      if (query.pieces !== '1') return survey;
      return { ...survey, pieces: await stores.listPieces(params.product, revision) };
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/readiness',
    {
      schema: {
        ...TAGS,
        summary: 'Check whether the model is ready: verdict, findings, proposed repairs',
        response: ok(ReadinessAnswer),
      },
    },
    async ({ params }, reply): Promise<ReadinessAnswer> => {
      const signal = callerSignal(reply);
      const loaded = await loadProduct(context, params.product);
      requireModel(loaded);
      return checkProduct(context, loaded, signal);
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/slots',
    { schema: { ...TAGS, summary: 'List the slots of a product', response: ok(SlotListAnswer) } },
    async ({ params }, reply): Promise<FastifyReply> => {
      const loaded = await loadProduct(context, params.product);
      const count = loaded.line?.range.length || loaded.finishes.byCode.size;
      if (count <= SENT_WHOLE) return reply.send({ slots: loaded.slots.map((slot) => toSlotAnswer(loaded, slot)) });
      return reply.type('application/json; charset=utf-8').send(Readable.from(writeSlots(loaded)));
    },
  );

  app.get<BySlot>(
    '/api/products/:product/slots/:slot',
    { schema: { ...TAGS, summary: 'Get a slot', response: ok(ref(SlotAnswer)) } },
    async ({ params }, reply): Promise<SlotAnswer> => {
      const loaded = await loadProduct(context, params.product);
      const slot = loaded.slots.find((known) => known.slot === params.slot);
      if (!slot) throw unknownSlot(params.slot, loaded.slots);
      setTag(reply, tagSlot(slot));
      return toSlotAnswer(loaded, slot);
    },
  );

  app.patch<BySlot & { Body: SlotChangeBody }>(
    '/api/products/:product/slots/:slot',
    {
      schema: {
        ...TAGS,
        summary: 'Change a slot',
        body: SlotChangeBody,
        headers: EditHeaders,
        response: ok(ref(SlotAnswer)),
      },
    },
    async (request, reply): Promise<SlotAnswer> => {
      const { product, slot: key } = request.params;
      const slot = await changeSlot(context, product, key, request.body, readPrecondition(request));
      setTag(reply, tagSlot(slot));
      return toSlotAnswer(await loadProduct(context, product), slot);
    },
  );

  app.get(
    '/api/budgets',
    { schema: { ...TAGS, summary: 'List the size budgets for models, with sources', response: ok(BudgetListAnswer) } },
    async (): Promise<BudgetListAnswer> => ({ budgets: await listBudgets(context) }),
  );

  app.get<ByBudget>(
    '/api/budgets/:budget',
    { schema: { ...TAGS, summary: 'Get a size budget', response: ok(ref(BudgetAnswer)) } },
    async ({ params }, reply) => {
      const budget = await getBudget(context, params.budget);
      setTag(reply, tagBudget(budget));
      return budget;
    },
  );

  app.put<ByBudget & { Body: BudgetBody }>(
    '/api/budgets/:budget',
    {
      schema: {
        ...TAGS,
        summary: 'Add or replace a custom budget',
        body: BudgetBody,
        headers: EditHeaders,
        response: stored(ref(BudgetAnswer)),
      },
    },
    async (request, reply) => {
      const { params, body } = request;
      const { created: isNew, budget } = await putBudget(context, params.budget, body, readPrecondition(request));
      setTag(reply, tagBudget(budget));
      return reply.status(isNew ? 201 : 200).send(budget);
    },
  );

  app.delete<ByBudget>(
    '/api/budgets/:budget',
    { schema: { ...TAGS, summary: 'Delete a custom budget', headers: EditHeaders, response: noContent } },
    async (request, reply) => {
      await deleteBudget(context, request.params.budget, readPrecondition(request));
      return reply.status(204).send();
    },
  );
}

async function describeProduct(context: Context, code: string): Promise<ProductAnswer> {
  const loaded = await loadProduct(context, code);
  return toProductAnswer(loaded.product, await summarise(context, loaded));
}

function toProductAnswer(product: Product, { isShown, ...summary }: ProductSummary): ProductAnswer {
  const base = `/api/products/${encodeURIComponent(product.code)}`;
  const { defaultVariant } = summary;
  const picture =
    defaultVariant === null ? `${base}/picture.webp` : `${base}/pictures/${encodeURIComponent(defaultVariant)}.webp`;
  return { ...product, ...summary, picture: isShown ? picture : null };
}

/** Allowed finishes of an answer that is made and sent in one go. */
const SENT_WHOLE = 1000;

/** The answer with all slots, bit by bit: without a line, each slot may take any of fifty thousand finishes. */
async function* writeSlots(loaded: LoadedProduct): AsyncGenerator<string> {
  for (const [at, slot] of loaded.slots.entries()) {
    await setImmediate();
    const allowed = listAllowed(loaded, slot);
    const [before, after] = splitAtAllowed(JSON.stringify(describeSlot(loaded, slot, allowed, [])));
    yield `${at === 0 ? '{"slots":[' : ','}${before}`;
    for (let from = 0; from < allowed.length; from += SENT_WHOLE) {
      await setImmediate();
      const part = JSON.stringify(allowed.slice(from, from + SENT_WHOLE).map(describeAllowed)).slice(1, -1);
      yield from > 0 ? `,${part}` : part;
    }
    yield after;
  }
  yield loaded.slots.length === 0 ? '{"slots":[]}' : ']}';
}

/** In JSON, quotes inside of a text have a backslash: this can only be the key. */
const ALLOWED = '"allowed":[';

function splitAtAllowed(text: string): [before: string, after: string] {
  const at = text.indexOf(ALLOWED) + ALLOWED.length;
  return [text.slice(0, at), text.slice(at)];
}

/** A slot with the names of its materials and the finishes that its options allow. */
export function toSlotAnswer(loaded: LoadedProduct, slot: Slot): SlotAnswer {
  const allowed = listAllowed(loaded, slot);
  return describeSlot(loaded, slot, allowed, allowed.map(describeAllowed));
}

function listAllowed({ line, finishes }: LoadedProduct, slot: Slot): readonly RangedFinish[] {
  return listOptions(slot, line, listRange(line, finishes.byCode));
}

function describeAllowed({ finish, grade, status }: RangedFinish): SlotAnswer['allowed'][number] {
  return { finish: finish.finish, grade, status };
}

function describeSlot(
  loaded: LoadedProduct,
  given: Slot,
  options: readonly RangedFinish[],
  allowed: SlotAnswer['allowed'],
): SlotAnswer {
  const slot = fillSlotDefault(given, loaded.model?.survey ?? null);
  const facts = loaded.model?.survey.materials[slot.materials[0] ?? -1]?.grain ?? null;
  return {
    slot: slot.slot,
    label: slot.label,
    position: slot.position,
    materials: slot.materials.map((index) =>
      index === null ? '' : (loaded.model?.survey.materials[index]?.name ?? ''),
    ),
    primitives: slot.primitives.length,
    triangles: slot.triangles,
    options: slot.options,
    allowed,
    fixed: slot.fixed,
    keep: { ...KEEP_ALL, ...slot.keep },
    grainDegrees: slot.grainDegrees,
    directions: slot.directions ?? null,
    normalFrom: !slot.said || slot.said.includes('normal') ? 'person' : 'model',
    proposedGrain: proposeGrain(
      facts,
      options.map(({ finish }) => finish.family),
    ),
    grainMark: facts?.mark ?? null,
    tag: tagSlot(given),
  };
}
