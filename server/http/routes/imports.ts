import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { importFinishes } from '../../actions/import-finishes.ts';
import { writeExampleCsv } from '../../core/import/write-example-csv.ts';
import { Problem } from '../../core/problems.ts';
import type { ImportAnswer } from '../answers.ts';
import { AuthorHeaders } from '../contracts/author.ts';
import { ImportQuery, ImportResult } from '../contracts/import.ts';
import { readAuthor } from '../read-author.ts';

/** Twenty thousand spectra of 36 readings have about six megabytes as CSV and twelve as CxF. */
const IMPORT_LIMIT_BYTES = 16 * 1024 * 1024;

const IMPORT_TYPES = ['text/csv', 'text/plain', 'text/tab-separated-values', 'application/xml', 'text/xml'];

export function addImportRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  app.get(
    '/api/finishes/import/example.csv',
    { schema: { summary: 'An example of the CSV that is taken', tags: ['finishes'] } },
    (_request, reply) =>
      reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', 'attachment; filename="finishes-example.csv"')
        .send(writeExampleCsv()),
  );
  // a room of its own, so that no other address takes these types
  app.register(async (room) => {
    room.addContentTypeParser(IMPORT_TYPES, { parseAs: 'buffer' }, (_request, bytes, done) => done(null, bytes));
    room.post<{ Querystring: ImportQuery; Body: unknown }>(
      '/api/finishes/import',
      {
        schema: {
          summary:
            'Import finishes from CSV, CGATS.17 text or CxF3 XML; with dryRun=1 only say line by line what would come of it. One refused line keeps all out, unless partial=1',
          tags: ['finishes'],
          querystring: ImportQuery,
          headers: AuthorHeaders,
          response: { 200: ImportResult },
        },
        bodyLimit: Math.min(IMPORT_LIMIT_BYTES, bodyLimitBytes),
      },
      async ({ body, query, headers }): Promise<ImportAnswer> => {
        if (!Buffer.isBuffer(body)) {
          throw new Problem('media-type', {
            detail: 'Send the file’s bytes as text/csv, text/plain (CGATS.17) or application/xml (CxF3).',
            expected: IMPORT_TYPES,
            received: headers['content-type'],
          });
        }
        const { dryRun, partial, family, article, ...viewing } = query;
        const charset = /;\s*charset\s*=\s*"?([^\s";]+)/i.exec(headers['content-type'] ?? '')?.[1] ?? null;
        return importFinishes(
          context,
          { bytes: body, charset, viewing },
          {
            dryRun: dryRun === '1',
            partial: partial === '1',
            ...(family !== undefined && { family }),
            ...(article !== undefined && { article }),
          },
          readAuthor(headers),
        );
      },
    );
  });
}
