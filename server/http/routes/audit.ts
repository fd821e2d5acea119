import { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { Access } from '../../actions/access.ts';
import { writeCsv, writeJsonLines } from '../../actions/audit.ts';
import { AuditAnswer, AuditQuery } from '../contracts/audit.ts';
import { download, ok } from '../responses.ts';

const TAGS = { tags: ['audit'] };
const USUAL_LIMIT = 100;

/** Who did what, when and from where. */
export function addAuditRoutes(app: FastifyInstance, access: Access): void {
  app.get<{ Querystring: AuditQuery }>(
    '/api/audit',
    {
      schema: {
        ...TAGS,
        summary: 'List who did what, when and from where, newest first, page by page',
        querystring: AuditQuery,
        response: ok(AuditAnswer),
      },
    },
    async ({ query: { before = null, limit = USUAL_LIMIT, account = null } }): Promise<AuditAnswer> => {
      const entries = await access.store.listLatest(before, limit, account);
      return { entries, next: entries.length < limit ? null : entries.at(-1)!.entry };
    },
  );

  for (const [ending, mediaType, write] of [
    ['csv', 'text/csv', writeCsv],
    ['jsonl', 'application/jsonl', writeJsonLines],
  ] as const) {
    app.get(
      `/api/audit.${ending}`,
      {
        exposeHeadRoute: false,
        schema: {
          ...TAGS,
          summary: `Download the whole audit, oldest first (${ending})`,
          response: download(mediaType),
        },
      },
      async (_request, reply) =>
        reply
          .type(`${mediaType}; charset=utf-8`)
          .header('content-disposition', `attachment; filename="audit.${ending}"`)
          .send(Readable.from(write(access))),
    );
  }
}
