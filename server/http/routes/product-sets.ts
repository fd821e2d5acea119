import { randomUUID } from 'node:crypto';
import { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { listSetFiles, takeSetFile } from '../../actions/list-set-files.ts';
import { addSetJob } from '../../actions/make-picture-set.ts';
import { type JudgedFile, judgeFiles, planProductSet } from '../../actions/plan-product-set.ts';
import { SetJobBody, SetPlanQuery, SetZipQuery } from '../contracts/picture-set.ts';
import type { SetFileAnswer, SetJobAnswer, SetPlanAnswer } from '../picture-answers.ts';
import { sendBytes } from '../send-bytes.ts';
import { toJobAnswer } from '../to-job-answer.ts';
import { writeZip } from '../write-zip.ts';

type BySet = { Params: { product: string; set: string } };

const BASE = '/api/products/:product/picture-sets/:set';

export function addProductSetRoutes(app: FastifyInstance, context: Context): void {
  // the pattern tells a set's files from a set whose code has a dot in it
  app.get<BySet & { Querystring: SetZipQuery }>(
    `${BASE}(^.+).zip`,
    {
      // asking for the head would make every file for nobody
      exposeHeadRoute: false,
      schema: {
        summary: 'All files of a set and a list of them as one zip, made while it is sent',
        tags: ['picture sets'],
        querystring: SetZipQuery,
      },
    },
    async ({ params, query }, reply) => {
      const files = await listSetFiles(context, params.product, params.set, query.variant);
      const name = `${params.product}_${params.set}`.replace(/[^\w.-]/g, '_');
      return reply
        .type('application/zip')
        .header('cache-control', 'no-cache')
        .header('content-disposition', `attachment; filename="${name}.zip"`)
        .send(Readable.from(writeZip(files)));
    },
  );

  app.get<BySet & { Querystring: SetPlanQuery }>(
    BASE,
    {
      schema: {
        summary: 'The files a picture set comes to for a product, and which of them are made',
        tags: ['picture sets'],
        querystring: SetPlanQuery,
      },
    },
    async ({ params, query }): Promise<SetPlanAnswer> => {
      const planned = await planProductSet(context, params.product, params.set);
      const files = await judgeFiles(context, planned);
      const set = planned.set.code;
      const product = planned.loaded.product.code;
      const address = `/api/products/${encodeURIComponent(product)}/picture-sets/${encodeURIComponent(set)}`;
      return {
        set,
        product,
        total: files.length,
        made: files.filter(({ held }) => held !== null).length,
        bytes: files.reduce((sum, { held }) => sum + (held?.bytes ?? 0), 0),
        ...(query.files !== '0' && { files: files.map((file) => toFileAnswer(address, file)) }),
        findings: planned.findings,
        zip: `${address}.zip`,
      };
    },
  );

  app.post<BySet & { Body: SetJobBody }>(
    BASE,
    {
      schema: {
        summary: 'Make what is not there yet of a picture set, as a job',
        tags: ['picture sets'],
        body: SetJobBody,
      },
    },
    async ({ params, body }, reply) => {
      const { kept, ...job } = await addSetJob(context, params.product, params.set, randomUUID(), body.variants);
      const answer: SetJobAnswer = { ...toJobAnswer(job), kept };
      return reply.status(202).header('location', `/api/jobs/${job.id}`).send(answer);
    },
  );

  app.get<{ Params: BySet['Params'] & { file: string } }>(
    `${BASE}/files/:file`,
    { schema: { summary: 'One file of a set, made if it is not there', tags: ['picture sets'] } },
    async (request, reply) => {
      const { product, set, file } = request.params;
      const { bytes, sha256, mediaType, source } = await takeSetFile(context, product, set, file);
      reply.header('picture-source', source);
      return sendBytes(request, reply, bytes, { sha256, mediaType, fileName: file });
    },
  );
}

function toFileAnswer(address: string, { picture, held }: JudgedFile): SetFileAnswer {
  const { fileName, namedBy, variant, of, view, layer, widthPx, heightPx, ppi } = picture;
  return {
    name: fileName,
    namedBy,
    variant,
    finish: 'finish' in of ? of.finish : null,
    view,
    layer,
    widthPx,
    heightPx,
    ppi,
    made: held !== null,
    ...(held && { sha256: held.sha256, bytes: held.bytes }),
    address: `${address}/files/${encodeURIComponent(fileName)}`,
  };
}
