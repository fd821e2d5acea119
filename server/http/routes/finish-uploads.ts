import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { readLevelled, recallMapFacts } from '../../actions/finish-maps.ts';
import { addFile, describeFile } from '../../actions/image-files.ts';
import { importFinishes } from '../../actions/import-finishes.ts';
import { MAP_TYPES } from '../../core/finish/map-image.ts';
import { writeExampleCsv } from '../../core/import/read-import-csv.ts';
import { IMPORT_PART } from '../../core/ports/imports.ts';
import { Problem } from '../../core/problems.ts';
import { FINISH_PROBLEMS } from '../../core/texts/problems/finish.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import { callerSignal } from '../caller-signal.ts';
import { AuthorHeaders } from '../contracts/finish-history.ts';
import { FileAnswer, FileParams, ImageQuery, ImportAnswer, ImportQuery } from '../contracts/finish-uploads.ts';
import { readAuthor } from '../request-parsing.ts';
import { bytes, created, download, ok } from '../responses.ts';
import { sendBytes, sendFile } from '../send-bytes.ts';
import { sendLists } from '../send-list.ts';

const TAGS = { tags: ['finishes'] };

/** Uploads that become finishes: files of measurements, and images for maps. */
export function addFinishUploadRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  addImportRoutes(app, context, bodyLimitBytes);
  addImageRoutes(app, context, bodyLimitBytes);
}

/** Twenty thousand spectra of 36 readings take about six megabytes as CSV and twelve as CxF. */
const IMPORT_LIMIT_BYTES = 16 * 1024 * 1024;

const IMPORT_TYPES = ['text/csv', 'text/plain', 'text/tab-separated-values', 'application/xml', 'text/xml'];

function addImportRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  app.get(
    '/api/finishes/import/example.csv',
    { schema: { ...TAGS, summary: 'Download an example CSV', response: download('text/csv') } },
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
          ...TAGS,
          summary:
            'Import finishes from CSV, CGATS.17 text or CxF3 XML; dryRun=1 only reports. A refused line stops the import, unless partial=1',
          consumes: IMPORT_TYPES,
          querystring: ImportQuery,
          headers: AuthorHeaders,
          response: ok(ImportAnswer),
        },
        bodyLimit: Math.min(IMPORT_LIMIT_BYTES, bodyLimitBytes),
      },
      async ({ body, query, headers }, reply) => {
        if (!Buffer.isBuffer(body)) {
          throw new Problem('media-type', {
            detail: REQUEST_PROBLEMS['media-type'].import,
            expected: IMPORT_TYPES,
            received: headers['content-type'],
          });
        }
        const { dryRun, partial, family, article, columns, ...viewing } = query;
        const charset = /;\s*charset\s*=\s*"?([^\s";]+)/i.exec(headers['content-type'] ?? '')?.[1] ?? null;
        const answer: ImportAnswer = await importFinishes(
          context,
          { bytes: body, charset, viewing, ...(columns !== undefined && { columns: columns.split(',') }) },
          {
            dryRun: dryRun === '1',
            partial: partial === '1',
            signal: callerSignal(reply),
            ...(family !== undefined && { family }),
            ...(article !== undefined && { article }),
          },
          readAuthor(headers),
        );
        return sendLists(reply, answer, IMPORT_PART);
      },
    );
  });
}

/** A 4096 px PNG of noise has about 50 MB. */
const FILE_LIMIT_BYTES = 64 * 1024 * 1024;

/** Uploaded images, which finishes use as maps. */
function addImageRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  const { stores, files } = context;

  app.post<{ Body: Buffer }>(
    '/api/files',
    {
      schema: {
        ...TAGS,
        summary: 'Upload an image for the maps of finishes: PNG, JPEG, WebP or KTX2',
        consumes: [...MAP_TYPES],
        response: created(FileAnswer),
      },
      bodyLimit: Math.min(FILE_LIMIT_BYTES, bodyLimitBytes),
    },
    async ({ body }, reply) => {
      if (!Buffer.isBuffer(body)) {
        throw new Problem('media-type', {
          detail: REQUEST_PROBLEMS['media-type'].image,
        });
      }
      const { sha256 } = await addFile(context, body);
      const answer: FileAnswer = await describeFile(context, sha256);
      return reply.status(201).send(answer);
    },
  );

  app.get<{ Params: FileParams }>(
    '/api/files/:sha256',
    {
      schema: {
        ...TAGS,
        summary: 'Get the measurements of an uploaded image, and findings for each use as a map',
        params: FileParams,
        response: ok(FileAnswer),
      },
    },
    ({ params }): Promise<FileAnswer> => describeFile(context, params.sha256),
  );

  app.get<{ Params: FileParams; Querystring: ImageQuery }>(
    '/api/files/:sha256/image',
    {
      schema: {
        ...TAGS,
        summary: 'Download an uploaded image; with a contrast as deliveries contain it as a colour map',
        params: FileParams,
        querystring: ImageQuery,
        response: bytes(...MAP_TYPES),
      },
    },
    async (request, reply) => {
      // uploaded images only: models and deliveries are stored in the same folder
      const image = await stores.getFile(request.params.sha256);
      if (!image) {
        throw new Problem('not-found', {
          detail: FINISH_PROBLEMS['not-found'].image,
          received: request.params.sha256,
        });
      }
      const { contrast } = request.query;
      if (contrast === undefined) {
        return sendFile(request, reply, files.getPath(image.sha256), {
          sha256: image.sha256,
          bytes: image.bytes,
          mediaType: image.mimeType,
          immutable: true,
        });
      }
      if (!(await recallMapFacts(context, image.sha256))) {
        throw new Problem('image-unreadable', {
          detail: FINISH_PROBLEMS['image-unreadable'].notMeasured,
        });
      }
      const levelled = await readLevelled(context, image.sha256, contrast);
      return sendBytes(request, reply, levelled.bytes, levelled);
    },
  );
}
