import { existsSync } from 'node:fs';
import { join } from 'node:path';
import fastifyStatic from '@fastify/static';
import fastifySwagger from '@fastify/swagger';
import Fastify, { type FastifyInstance, type FastifyRequest } from 'fastify';
import type { TSchema } from 'typebox';
import type { Access } from '../actions/access.ts';
import type { Context } from '../actions/context.ts';
import type { Config } from '../config.ts';
import type { HouseSignIn } from '../core/ports/access.ts';
import type { RendererFacts } from '../core/ports/renderer.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { auditCalls } from './audit-calls.ts';
import { limitBodies } from './body-limits.ts';
import { limitCalls, limitUploads } from './call-limits.ts';
import { limitCallsAtOnce } from './calls-at-once.ts';
import { PersonAnswer } from './contracts/access.ts';
import { ColourSpecification } from './contracts/appearance.ts';
import { ManifestAnswer } from './contracts/delivery.ts';
import { Finding, FindingCodes } from './contracts/finding.ts';
import { ArticleAnswer, FinishAnswer, FinishDefinition, ResolvedFinish } from './contracts/finish.ts';
import { JobAnswer, JobEvent, JobPicture } from './contracts/job.ts';
import { Rule } from './contracts/line.ts';
import { ModelChanges } from './contracts/model.ts';
import { PictureSetAnswer } from './contracts/picture-set.ts';
import { BudgetAnswer, ProductAnswer, SlotAnswer } from './contracts/product.ts';
import { Repair, RepairReport } from './contracts/repair.ts';
import { ProblemAnswer, ProblemCodes } from './contracts/service.ts';
import { Survey } from './contracts/survey.ts';
import { answerBrokenConnection, answerError, answerNotFound } from './problem-answers.ts';
import { addRequestGuard } from './request-guard.ts';
import { parseRequests } from './request-parsing.ts';
import { describeProblems } from './responses.ts';
import { asksForPage } from './route-access.ts';
import { addAccountRoutes, addSignInRoutes } from './routes/access.ts';
import { addApprovalRoutes } from './routes/approvals.ts';
import { addArchiveRoutes } from './routes/archives.ts';
import { addAuditRoutes } from './routes/audit.ts';
import { addDeliveryRoutes } from './routes/deliveries.ts';
import { addDeliveryFeedRoutes } from './routes/delivery-feeds.ts';
import { addDeliveryFileRoutes } from './routes/delivery-files.ts';
import { addFinishHistoryRoutes } from './routes/finish-history.ts';
import { addFinishUploadRoutes } from './routes/finish-uploads.ts';
import { addFinishRoutes } from './routes/finishes.ts';
import { addHouseRoutes, HOUSE_CALLBACK } from './routes/house.ts';
import { addJobRoutes } from './routes/jobs.ts';
import { addLineRoutes } from './routes/lines.ts';
import { addModelRoutes } from './routes/models.ts';
import { addPictureSetRoutes } from './routes/picture-sets.ts';
import { addPictureRoutes } from './routes/pictures.ts';
import { addPreparationRoutes } from './routes/preparation.ts';
import { addPrintedSheetRoutes } from './routes/printed-sheets.ts';
import { addProductRoutes } from './routes/products.ts';
import { addScheduleRoutes } from './routes/schedules.ts';
import { addServiceRoutes } from './routes/service.ts';
import { endSlowBodies } from './slow-bodies.ts';
import { refuseWithdrawnFiles } from './withdrawn-files.ts';

interface AppOptions {
  readonly config: Config;
  readonly context: Context;
  readonly access: Access;
  /** The sign-in of the house; null without one. */
  readonly house: HouseSignIn | null;
  readonly version: string;
  /** Folder of the built pages. */
  readonly pagesFolder: string;
  /** What is known of the renderer without starting it. */
  readonly rendererFacts: () => RendererFacts | null;
  /** @throws Problem `not-ready` */
  readonly checkReady: () => Promise<void>;
  /** Aborts when the service closes, which ends streams of events. */
  readonly closing: AbortSignal;
}

const PAGE_POLICY = [
  "default-src 'self'",
  "img-src 'self' blob: data:",
  "style-src 'self' 'unsafe-inline'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self' blob:",
  "connect-src 'self' blob: data:",
  "object-src 'none'",
  "base-uri 'none'",
  "frame-ancestors 'none'",
].join('; ');

const PAGES = [
  '/',
  '/products/*',
  '/finishes',
  '/finishes/*',
  '/lines',
  '/lines/*',
  '/picture-sets',
  '/people',
  '/account',
  '/passphrase',
];

/** Builds the HTTP service without listening. */
export async function buildApp(options: AppOptions): Promise<FastifyInstance> {
  const { config, context, access } = options;
  const app = Fastify({
    logger: config.logLevel !== 'silent' && { level: config.logLevel, serializers: { req: describeRequest } },
    // only what a configured proxy says of the caller's address and of TLS counts
    trustProxy: config.trustedProxies.length > 0 && [...config.trustedProxies],
    // errors before routing, such as a URL that cannot be decoded
    frameworkErrors: (error, request, reply) => answerError(error, request as never, reply as never),
    // an upload of half a gigabyte over a slow connection takes longer than any limit
    requestTimeout: 0,
    http: { headersTimeout: config.idleMs, connectionsCheckingInterval: config.idleMs / 2 },
    clientErrorHandler: answerBrokenConnection,
    forceCloseConnections: 'idle',
    // `refuseWhileClosing` answers instead, with a reason
    return503OnClosing: false,
    routerOptions: { maxParamLength: 300 },
  });
  limitBodies(app, config.bodyLimitBytes);
  parseRequests(app);
  app.setErrorHandler(answerError);
  app.setNotFoundHandler((request, reply) => {
    // without built pages nothing can be sent
    if (asksForPage(request) && 'sendFile' in reply) return reply.code(404).sendFile('index.html');
    return answerNotFound(request.method, request.url, reply);
  });
  await describeApi(app, options.version);
  refuseWhileClosing(app, options.closing);
  addRequestGuard(app, config, access, {
    lineOfProduct: async (product) => (await context.stores.getProduct(product))?.line ?? null,
    async lineOfJob(id) {
      const { line, product } = await context.jobs.get(id);
      return line ?? (product === null ? null : ((await context.stores.getProduct(product))?.line ?? null));
    },
  });
  limitUploads(app, config);
  await limitCalls(app, config);
  auditCalls(app, access);
  limitCallsAtOnce(app);
  endSlowBodies(app, config.idleMs);
  app.addHook('onSend', async (_request, reply) => {
    if (!reply.hasHeader('content-security-policy')) reply.header('content-security-policy', PAGE_POLICY);
  });
  refuseWithdrawnFiles(app, context);
  addSignInRoutes(app, config, access, options.house?.name ?? null);
  if (options.house) addHouseRoutes(app, access, options.house);
  addAccountRoutes(app, access);
  addAuditRoutes(app, access);
  addServiceRoutes(app, options.version, options.rendererFacts, options.checkReady);
  addProductRoutes(app, context);
  addModelRoutes(app, context, config.bodyLimitBytes);
  addPreparationRoutes(app, context);
  addScheduleRoutes(app, context);
  addDeliveryRoutes(app, context);
  addDeliveryFileRoutes(app, context, config.address);
  addDeliveryFeedRoutes(app, context, config.address);
  addLineRoutes(app, context);
  addArchiveRoutes(app, context, config.bodyLimitBytes);
  addFinishRoutes(app, context);
  addFinishHistoryRoutes(app, context);
  addFinishUploadRoutes(app, context, config.bodyLimitBytes);
  addApprovalRoutes(app, context);
  addPictureRoutes(app, context);
  addPictureSetRoutes(app, context);
  addPrintedSheetRoutes(app, context);
  addJobRoutes(app, context, options.closing);
  await servePages(app, options.pagesFolder);
  return app;
}

/** A request in the log. The address that the sign-in of the house comes back to has a code in its query. */
function describeRequest({ method, url, ip }: FastifyRequest) {
  return { method, url: url.startsWith(HOUSE_CALLBACK) ? HOUSE_CALLBACK : url, remoteAddress: ip };
}

/** Calls on open connections, after the service began to close. `/ready` says so itself, and `/health` that the process lives. */
function refuseWhileClosing(app: FastifyInstance, closing: AbortSignal): void {
  app.addHook('onRequest', async (request) => {
    if (!closing.aborted || request.routeOptions.url === '/health') return;
    throw new Problem('not-ready', { detail: REQUEST_PROBLEMS['not-ready'].closing });
  });
}

/** Schemas that the OpenAPI document holds once, under `components/schemas`: all those that `ref` points to. */
const COMPONENTS: readonly TSchema[] = [
  JobPicture,
  ArticleAnswer,
  BudgetAnswer,
  ColourSpecification,
  Finding,
  FindingCodes,
  FinishAnswer,
  FinishDefinition,
  JobAnswer,
  JobEvent,
  ManifestAnswer,
  ModelChanges,
  PersonAnswer,
  PictureSetAnswer,
  ProblemAnswer,
  ProblemCodes,
  ProductAnswer,
  Repair,
  RepairReport,
  ResolvedFinish,
  Rule,
  SlotAnswer,
  Survey,
];

async function describeApi(app: FastifyInstance, version: string): Promise<void> {
  for (const schema of COMPONENTS) app.addSchema(schema);
  describeProblems(app);
  await app.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Dyeworks',
        version,
        description:
          'Products, their slots and the finishes on offer; one GLB with every variant; pictures of each. Errors are `application/problem+json` with a stable `code`, what was expected, what was received, and the next step.',
      },
      components: { securitySchemes: { token: { type: 'http', scheme: 'bearer' } } },
      // the empty requirement: a service without DYEWORKS_TOKEN needs no token
      security: [{ token: [] }, {}],
    },
    refResolver: { buildLocalReference: (json, _uri, _fragment, index) => String(json.$id ?? `schema-${index}`) },
  });
}

async function servePages(app: FastifyInstance, folder: string): Promise<void> {
  if (!existsSync(join(folder, 'index.html'))) return;
  await app.register(fastifyStatic, { root: folder, wildcard: false, index: false, etag: true });
  const sendPage = (_request: unknown, reply: { sendFile(name: string): unknown }) => reply.sendFile('index.html');
  for (const path of PAGES) app.get(path, { schema: { hide: true } }, sendPage as never);
}
