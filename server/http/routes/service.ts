import type { FastifyInstance } from 'fastify';
import { Type } from 'typebox';
import type { RendererFacts } from '../../core/ports/renderer.ts';
import { HealthAnswer, ReadyAnswer } from '../contracts/service.ts';
import { ok } from '../responses.ts';

/** Health and readiness, the OpenAPI document, and the API as a page. */
export function addServiceRoutes(
  app: FastifyInstance,
  version: string,
  rendererFacts: () => RendererFacts | null,
  checkReady: () => Promise<void>,
): void {
  app.get(
    '/health',
    { schema: { summary: 'Check that the process lives', tags: ['service'], response: ok(HealthAnswer) } },
    async (request): Promise<HealthAnswer> => {
      if (request.guest) return { status: 'ok' };
      const facts = rendererFacts();
      return {
        status: 'ok',
        version,
        renderer: facts && { browser: facts.browser, gl: facts.gl, driver: facts.driver },
      };
    },
  );

  app.get(
    '/ready',
    {
      schema: {
        summary: 'Check that the service can serve: the database answers, and the data folder takes files',
        tags: ['service'],
        response: ok(ReadyAnswer),
      },
    },
    async (_request, reply): Promise<ReadyAnswer> => {
      reply.header('cache-control', 'no-store');
      await checkReady();
      return { status: 'ready' };
    },
  );

  app.get(
    '/api/openapi.json',
    {
      schema: {
        summary: 'Get this description of the API',
        tags: ['service'],
        response: ok(Type.Object({}, { additionalProperties: true, description: 'OpenAPI 3.1' })),
      },
    },
    async () => app.swagger(),
  );

  app.get('/docs', { schema: { hide: true } }, async (_request, reply) => {
    const paths = (app.swagger().paths ?? {}) as Record<string, Record<string, Operation>>;
    return reply.type('text/html; charset=utf-8').send(writePage(paths));
  });
}

interface Operation {
  readonly summary?: string;
  readonly tags?: readonly string[];
}

/** The API as a table for each tag. */
function writePage(paths: Readonly<Record<string, Record<string, Operation>>>): string {
  const groups = new Map<string, string[]>();
  for (const [path, methods] of Object.entries(paths)) {
    for (const [method, { tags, summary = '' }] of Object.entries(methods)) {
      const group = tags?.[0] ?? 'service';
      const row = `<tr><td>${method.toUpperCase()}</td><td>${escapeHtml(path)}</td><td>${escapeHtml(summary)}</td></tr>`;
      groups.set(group, [...(groups.get(group) ?? []), row]);
    }
  }
  const tables = [...groups].map(([group, rows]) => `<h2>${escapeHtml(group)}</h2><table>${rows.join('')}</table>`);
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>Dyeworks API</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>
:root { color-scheme: light dark; --paper: #faf8f4; --ink: #1d1b18; --line: #d9d3c7; }
@media (prefers-color-scheme: dark) { :root { --paper: #1b1a18; --ink: #ece7dd; --line: #45413a; } }
body { background: var(--paper); color: var(--ink); font: 16px/1.5 "Source Sans 3 Variable", system-ui, sans-serif; max-width: 62rem; margin: 3rem auto; padding: 0 1.5rem; }
h1 { font-weight: 500; } h2 { font-weight: 500; margin-top: 2.5rem; font-size: 1.1rem; text-transform: capitalize; }
table { width: 100%; border-collapse: collapse; } td { border-top: 1px solid var(--line); padding: .4rem .8rem .4rem 0; vertical-align: top; }
td:first-child { width: 5rem; font-weight: 600; } td:nth-child(2) { width: 45%; overflow-wrap: anywhere; }
a { color: inherit; }
</style>
<h1>Dyeworks API</h1>
<p>This page lists all calls. <a href="/api/openapi.json">The OpenAPI document</a> describes their parameters, bodies and answers. Errors are <code>application/problem+json</code> with a stable <code>code</code>, what was expected, what was received, and the next step.</p>
${tables.join('')}</html>`;
}

function escapeHtml(text: string): string {
  return text.replace(/[&<>"]/g, (character) => `&#${character.charCodeAt(0)};`);
}
