import { existsSync } from 'node:fs';
import { join } from 'node:path';
import fastifyStatic from '@fastify/static';
import fastifySwagger from '@fastify/swagger';
import { Ajv } from 'ajv';
import Fastify, { type FastifyInstance } from 'fastify';
import type { Context } from '../actions/context.ts';
import type { Config } from '../config.ts';
import type { RendererFacts } from '../core/ports/renderer.ts';
import { Problem } from '../core/problems.ts';
import type { HealthAnswer } from './answers.ts';
import { addDocsPage } from './docs-page.ts';
import { answerError, sendProblem } from './problem-answers.ts';
import { addRequestGuard } from './request-guard.ts';
import { addApprovalRoutes } from './routes/approvals.ts';
import { addBudgetRoutes } from './routes/budgets.ts';
import { addCatalogueRoute } from './routes/catalogue.ts';
import { addDeliveryRoutes } from './routes/deliveries.ts';
import { addFinishRevisionRoutes } from './routes/finish-revisions.ts';
import { addFinishUsesRoute } from './routes/finish-uses.ts';
import { addFinishRoutes } from './routes/finishes.ts';
import { addImportRoutes } from './routes/imports.ts';
import { addJobRoutes } from './routes/jobs.ts';
import { addLineRoutes } from './routes/lines.ts';
import { addMapImageRoute } from './routes/map-images.ts';
import { addModelRoutes, MODEL_TYPES } from './routes/models.ts';
import { addPictureJobRoutes } from './routes/picture-jobs.ts';
import { addPictureSetRoutes } from './routes/picture-sets.ts';
import { addPictureRoutes } from './routes/pictures.ts';
import { addProductSetRoutes } from './routes/product-sets.ts';
import { addProductRoutes } from './routes/products.ts';
import { addRepairRoutes } from './routes/repairs.ts';
import { addScheduleRoutes } from './routes/schedules.ts';
import { addSheetRoutes } from './routes/sheets.ts';
import { addTakeVariantsRoute } from './routes/take-variants.ts';

export interface AppOptions {
  readonly config: Config;
  readonly context: Context;
  readonly version: string;
  /** Folder of the built pages. */
  readonly pagesFolder: string;
  /** What is known of the renderer without starting it. */
  readonly rendererFacts: () => RendererFacts | null;
}

/** JSON bodies: a schedule of twenty thousand rows has about four megabytes. */
const JSON_LIMIT_BYTES = 32 * 1024 * 1024;

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

/** Builds the service without listening. */
export async function buildApp(options: AppOptions): Promise<FastifyInstance> {
  const { config, context } = options;
  const app = Fastify({
    logger: config.logLevel === 'silent' ? false : { level: config.logLevel },
    bodyLimit: Math.min(JSON_LIMIT_BYTES, config.bodyLimitBytes),
    // addresses that cannot be decoded, and the like, before any route is known
    frameworkErrors: (error, request, reply) => answerError(error, request as never, reply as never),
    // uploads of half a gigabyte over a slow line take their time
    requestTimeout: 0,
    forceCloseConnections: 'idle',
    routerOptions: { maxParamLength: 300 },
  });
  useStrictValidation(app);
  app.setErrorHandler(answerError);
  app.setNotFoundHandler((request, reply) => answerMissing(request.method, request.url, reply));
  takeBodies(app);
  await app.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Dyeworks',
        version: options.version,
        description:
          'Products, their swappable slots and named finishes; one GLB that carries every variant; pictures of each.',
      },
    },
  });
  addRequestGuard(app, config);
  app.addHook('onSend', async (_request, reply) => {
    if (!reply.hasHeader('content-security-policy')) reply.header('content-security-policy', PAGE_POLICY);
  });
  app.get('/health', { schema: { summary: 'Whether the service is there' } }, async (): Promise<HealthAnswer> => {
    const facts = options.rendererFacts();
    return {
      status: 'ok',
      version: options.version,
      renderer: facts && { browser: facts.browser, gl: facts.gl, driver: facts.driver },
    };
  });
  app.get('/api/openapi.json', { schema: { summary: 'This description' } }, async () => app.swagger());
  addDocsPage(app);
  addLineRoutes(app, context);
  addFinishRoutes(app, context, config.bodyLimitBytes);
  addFinishRevisionRoutes(app, context);
  addFinishUsesRoute(app, context);
  addMapImageRoute(app, context);
  addImportRoutes(app, context, config.bodyLimitBytes);
  addApprovalRoutes(app, context);
  addProductRoutes(app, context);
  addModelRoutes(app, context, config.bodyLimitBytes);
  addRepairRoutes(app, context);
  addTakeVariantsRoute(app, context);
  addBudgetRoutes(app, context);
  addScheduleRoutes(app, context);
  addDeliveryRoutes(app, context);
  addPictureRoutes(app, context);
  addPictureJobRoutes(app, context);
  addJobRoutes(app, context);
  addPictureSetRoutes(app, context);
  addProductSetRoutes(app, context);
  addSheetRoutes(app, context);
  addCatalogueRoute(app, context);
  if (existsSync(join(options.pagesFolder, 'index.html'))) {
    await app.register(fastifyStatic, { root: options.pagesFolder, wildcard: false, index: false, etag: true });
    const sendPage = (_request: unknown, reply: { sendFile(name: string): unknown }) => reply.sendFile('index.html');
    for (const path of ['/', '/products/*', '/finishes', '/finishes/*', '/lines', '/lines/*', '/picture-sets']) {
      app.get(path, { schema: { hide: true } }, sendPage as never);
    }
  }
  return app;
}

/** Unknown fields are refused, never dropped; only addresses are text that must become numbers. */
function useStrictValidation(app: FastifyInstance): void {
  const settings = { removeAdditional: false, useDefaults: false, allErrors: false, allowUnionTypes: true } as const;
  const body = new Ajv({ ...settings, coerceTypes: false });
  const address = new Ajv({ ...settings, coerceTypes: 'array' });
  app.setValidatorCompiler(({ schema, httpPart }) => (httpPart === 'body' ? body : address).compile(schema as object));
  app.setSerializerCompiler(() => (value) => JSON.stringify(value));
}

/** Models come as streams, images as bytes; JSON may be left out where everything in it may. */
function takeBodies(app: FastifyInstance): void {
  for (const type of MODEL_TYPES) app.addContentTypeParser(type, (_request, payload, done) => done(null, payload));
  app.addContentTypeParser(/^(image\/|application\/octet-stream)/, { parseAs: 'buffer' }, (_request, bytes, done) =>
    done(null, bytes),
  );
  app.removeContentTypeParser('text/plain');
  app.addHook('preValidation', async (request) => {
    const { body } = request.routeOptions.schema ?? {};
    if (body === undefined) return;
    if (request.body === undefined || request.body === null) request.body = {};
    else if (typeof (request.body as { pipe?: unknown }).pipe === 'function' || Buffer.isBuffer(request.body)) {
      throw new Problem('media-type', {
        detail: 'This address takes application/json.',
        expected: 'application/json',
        received: request.headers['content-type'],
      });
    }
  });
}

function answerMissing(method: string, url: string, reply: Parameters<typeof sendProblem>[0]) {
  const path = url.split('?')[0]!.slice(0, 120);
  return sendProblem(reply, 'not-found', {
    detail: `There is nothing at ${method} ${path}. GET /docs lists what there is.`,
    received: `${method} ${path}`,
  });
}
