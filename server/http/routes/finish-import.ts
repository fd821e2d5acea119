import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { importFinishes } from '../../actions/import-finishes.ts';
import { writeExampleCsv } from '../../core/import/read-import-csv.ts';
import { Problem } from '../../core/problems.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import { AuthorHeaders } from '../contracts/finish-history.ts';
import { ImportAnswer, ImportQuery } from '../contracts/finish-import.ts';
import { readAuthor } from '../request-headers.ts';
import { download, ok } from '../responses.ts';

/** Twenty thousand spectra of 36 readings take about six megabytes as CSV and twelve as CxF. */
const IMPORT_LIMIT_BYTES = 16 * 1024 * 1024;

const IMPORT_TYPES = ['text/csv', 'text/plain', 'text/tab-separated-values', 'application/xml', 'text/xml'];

export function addFinishImportRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  app.get(
    '/api/finishes/import/example.csv',
    { schema: { summary: 'Download an example CSV', tags: ['finishes'], response: download('text/csv') } },
    (_request, reply) =>
      reply
        .type('text/csv; charset=utf-8')
        .header('content-disposition', 'attachment; filename="finishes-example.csv"')
        .send(writeExampleCsv()),
  );
  // its own scope, so that no other URL accepts these media types
  app.register(async (scope) => {
    scope.addContentTypeParser(IMPORT_TYPES, { parseAs: 'buffer' }, (_request, bytes, done) => done(null, bytes));
    scope.post<{ Querystring: ImportQuery; Body: unknown }>(
      '/api/finishes/import',
      {
        schema: {
          summary:
            'Import finishes from CSV, CGATS.17 text or CxF3 XML; dryRun=1 only reports. A refused line stops the import, unless partial=1',
          tags: ['finishes'],
          consumes: IMPORT_TYPES,
          querystring: ImportQuery,
          headers: AuthorHeaders,
          response: ok(ImportAnswer),
        },
        bodyLimit: Math.min(IMPORT_LIMIT_BYTES, bodyLimitBytes),
      },
      async ({ body, query, headers }): Promise<ImportAnswer> => {
        if (!Buffer.isBuffer(body)) {
          throw new Problem('media-type', {
            detail: REQUEST_PROBLEMS['media-type'].import,
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
