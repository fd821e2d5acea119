import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { Problem } from '../../core/problems.ts';
import { FileParams } from '../contracts/file.ts';
import { sendFile } from '../send-bytes.ts';

export function addMapImageRoute(app: FastifyInstance, { stores, files }: Pick<Context, 'stores' | 'files'>): void {
  app.get<{ Params: FileParams }>(
    '/api/files/:sha256/image',
    { schema: { summary: 'An uploaded image, byte for byte', tags: ['finishes'], params: FileParams } },
    async (request, reply) => {
      // only what was uploaded as an image: models and deliveries lie in the same place
      const image = await stores.getFile(request.params.sha256);
      if (!image) {
        throw new Problem('not-found', {
          detail: `No image of the digest “${request.params.sha256}” was uploaded. Upload it with POST /api/files, which answers its digest.`,
          received: request.params.sha256,
        });
      }
      const { sha256, bytes, mimeType } = image;
      return sendFile(request, reply, files.getPath(sha256), { sha256, bytes, mediaType: mimeType, immutable: true });
    },
  );
}
