import { once } from 'node:events';
import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import { importArchive } from '../../actions/archives.ts';
import type { Context } from '../../actions/context.ts';
import { Problem } from '../../core/problems.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import { ArchiveImportsAnswer, ArchiveQuery, ArchiveReport } from '../contracts/archive.ts';
import { AuthorHeaders } from '../contracts/finish-history.ts';
import { drain } from '../drain.ts';
import { readAuthor } from '../request-parsing.ts';
import { download, json, ok } from '../responses.ts';
import { writeArchive } from '../write-archive.ts';

const TAGS = { tags: ['archives'] };
const ZIP = 'application/zip';

/** Moving a line from one service to another. */
export function addArchiveRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  app.get<{ Params: { line: string } }>(
    '/api/lines/:line/archive.zip',
    {
      schema: {
        ...TAGS,
        summary: 'Download a whole line with its products, finishes, deliveries and files, for import elsewhere',
        response: download(ZIP),
      },
    },
    async ({ params }, reply) => {
      const collected = await context.archives.collect(params.line);
      const stream = writeArchive(collected);
      // also where the caller leaves
      void once(stream, 'close')
        .catch(() => undefined)
        .then(() => collected.discard());
      return reply
        .type(ZIP)
        .header('cache-control', 'private, no-store')
        .header('content-disposition', `attachment; filename="${collected.line}.dyeworks.zip"`)
        .send(stream);
    },
  );

  app.post<{ Querystring: ArchiveQuery; Body: Readable }>(
    '/api/archives',
    {
      schema: {
        ...TAGS,
        summary: 'Import the archive of a line, all of it or nothing; dryRun=1 lists what exists already and differs',
        consumes: [ZIP],
        querystring: ArchiveQuery,
        headers: AuthorHeaders,
        response: {
          200: json('Nothing new, or what a dry run found', ArchiveReport),
          201: json('Imported', ArchiveReport),
        },
      },
    },
    async (request, reply) => {
      const { dryRun, ...decisions } = request.query;
      try {
        if (!String(request.headers['content-type'] ?? '').startsWith(ZIP)) {
          throw new Problem('media-type', {
            detail: REQUEST_PROBLEMS['media-type'].model([ZIP]),
            expected: [ZIP],
            received: request.headers['content-type'],
          });
        }
        const { line, at, version, entries } = await importArchive(
          context,
          request.body.iterator({ destroyOnReturn: false }),
          { dryRun: dryRun === '1', decisions, author: readAuthor(request.headers), limitBytes: bodyLimitBytes },
        );
        const changed = dryRun !== '1' && entries.some(({ outcome }) => outcome === 'create' || outcome === 'replace');
        return await reply.status(changed ? 201 : 200).send({ line, at, version, changed, entries });
      } catch (error) {
        drain(request.raw);
        reply.header('connection', 'close');
        throw error;
      }
    },
  );

  app.get(
    '/api/archives',
    { schema: { ...TAGS, summary: 'List the imports of archives', response: ok(ArchiveImportsAnswer) } },
    async (): Promise<ArchiveImportsAnswer> => ({ imports: await context.archives.listImports() }),
  );
}
