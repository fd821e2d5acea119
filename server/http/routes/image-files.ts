import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { readLevelled, recallMapFacts } from '../../actions/finish-maps.ts';
import { addFile, describeFile } from '../../actions/image-files.ts';
import { Problem } from '../../core/problems.ts';
import { FINISH_PROBLEMS } from '../../core/texts/problems/finish.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import { FileAnswer, FileParams, ImageQuery } from '../contracts/image-file.ts';
import { bytes, created, ok } from '../responses.ts';
import { sendBytes, sendFile } from '../send-bytes.ts';

/** A 4096 px PNG of noise has about 50 MB. */
const FILE_LIMIT_BYTES = 64 * 1024 * 1024;

const IMAGE_TYPES = ['image/png', 'image/jpeg', 'image/webp', 'image/ktx2'];

const TAGS = { tags: ['finishes'] };

/** Uploaded images, which finishes use as maps. */
export function addImageFileRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  const { stores, files } = context;

  app.post<{ Body: Buffer }>(
    '/api/files',
    {
      schema: {
        ...TAGS,
        summary: 'Upload an image for the maps of finishes: PNG, JPEG, WebP or KTX2',
        consumes: IMAGE_TYPES,
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
        response: bytes(...IMAGE_TYPES),
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
