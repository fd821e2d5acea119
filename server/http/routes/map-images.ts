import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { readLevelled, recallMapFacts } from '../../actions/recall-maps.ts';
import { Problem } from '../../core/problems.ts';
import { FileParams, ImageQuery } from '../contracts/file.ts';
import { sendBytes, sendFile } from '../send-bytes.ts';

export function addMapImageRoute(app: FastifyInstance, context: Context): void {
  const { stores, files } = context;
  app.get<{ Params: FileParams; Querystring: ImageQuery }>(
    '/api/files/:sha256/image',
    {
      schema: {
        summary: 'An uploaded image, byte for byte; with a contrast as deliveries carry it as a colour map',
        tags: ['finishes'],
        params: FileParams,
        querystring: ImageQuery,
      },
    },
    async (request, reply) => {
      // only what was uploaded as an image: models and deliveries lie in the same place
      const image = await stores.getFile(request.params.sha256);
      if (!image) {
        throw new Problem('not-found', {
          detail: `No image of the digest “${request.params.sha256}” was uploaded. Upload it with POST /api/files, which answers its digest.`,
          received: request.params.sha256,
        });
      }
      const { contrast } = request.query;
      if (contrast !== undefined) {
        if (!(await recallMapFacts(context, image.sha256))) {
          throw new Problem('image-unreadable', {
            detail:
              'This image cannot be measured here, as KTX2 cannot, so it cannot be levelled. Ask for it without contrast.',
          });
        }
        const { bytes, sha256, mediaType } = await readLevelled(context, image.sha256, contrast);
        return sendBytes(request, reply, bytes, { sha256, mediaType });
      }
      const { sha256, bytes, mimeType } = image;
      return sendFile(request, reply, files.getPath(sha256), { sha256, bytes, mediaType: mimeType, immutable: true });
    },
  );
}
