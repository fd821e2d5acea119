import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { addSetJob } from '../../actions/picture-set-job.ts';
import { deleteSet, findSet, type KnownSet, listSets, putSet } from '../../actions/picture-sets.ts';
import { type LocatedFile, locateFiles, planProductSet, takeSetFile } from '../../actions/product-set.ts';
import { tagPictureSet } from '../../actions/tags.ts';
import { listSetFiles } from '../../actions/zip-files.ts';
import { FORMAT_TYPES } from '../../core/picture/picture-set.ts';
import { toGivenPictureSet } from '../../core/picture/read-picture-set.ts';
import { SetJobAnswer } from '../contracts/job.ts';
import {
  PictureSetAnswer,
  PictureSetBody,
  PictureSetListAnswer,
  type SetFileAnswer,
  SetJobBody,
  SetPlanAnswer,
  SetPlanQuery,
  SetZipQuery,
} from '../contracts/picture-set.ts';
import { EditHeaders } from '../contracts/precondition.ts';
import { ref } from '../contracts/schema-parts.ts';
import { readPrecondition } from '../request-parsing.ts';
import { accepted, bytes, download, noContent, ok, setTag, stored } from '../responses.ts';
import { sendPicture, sendZip } from '../send-bytes.ts';
import { toJobAnswer } from './jobs.ts';

type BySet = { Params: { set: string } };
type ByProductAndSet = { Params: { product: string; set: string } };

const TAGS = { tags: ['picture sets'] };
const PRODUCT_SET = '/api/products/:product/picture-sets/:set';

/** Picture sets, and the files that a set makes of a product. */
export function addPictureSetRoutes(app: FastifyInstance, context: Context): void {
  app.get(
    '/api/picture-sets',
    { schema: { ...TAGS, summary: 'List all picture sets, built-in ones first', response: ok(PictureSetListAnswer) } },
    async (): Promise<PictureSetListAnswer> => {
      const sets = await listSets(context);
      const tags = Object.fromEntries(sets.map(({ set }) => [set.code, tagPictureSet(set)]));
      return { sets: sets.map(toSetAnswer), tags };
    },
  );

  app.get<BySet>(
    '/api/picture-sets/:set',
    { schema: { ...TAGS, summary: 'Get a picture set', response: ok(ref(PictureSetAnswer)) } },
    async ({ params }, reply): Promise<PictureSetAnswer> => {
      const known = await findSet(context, params.set);
      setTag(reply, tagPictureSet(known.set));
      return toSetAnswer(known);
    },
  );

  app.put<BySet & { Body: PictureSetBody }>(
    '/api/picture-sets/:set',
    {
      schema: {
        ...TAGS,
        summary: 'Add or replace a picture set; with the code of a built-in set it replaces that one',
        body: PictureSetBody,
        headers: EditHeaders,
        response: stored(ref(PictureSetAnswer)),
      },
    },
    async (request, reply) => {
      const { params, body } = request;
      const { created, ...known } = await putSet(context, params.set, body as never, readPrecondition(request));
      setTag(reply, tagPictureSet(known.set));
      return reply.status(created ? 201 : 200).send(toSetAnswer(known));
    },
  );

  app.delete<BySet>(
    '/api/picture-sets/:set',
    {
      schema: {
        ...TAGS,
        summary: 'Delete a picture set; a built-in set that it replaced comes back',
        headers: EditHeaders,
        response: noContent,
      },
    },
    async (request, reply) => {
      await deleteSet(context, request.params.set, readPrecondition(request));
      return reply.status(204).send();
    },
  );

  // the pattern tells the zip of a set from a set with a dot in its code
  app.get<ByProductAndSet & { Querystring: SetZipQuery }>(
    `${PRODUCT_SET}(^.+).zip`,
    {
      // a HEAD request would render every file for nothing
      exposeHeadRoute: false,
      schema: {
        ...TAGS,
        summary: 'Download all files of a set and a list of them as a zip',
        querystring: SetZipQuery,
        response: download('application/zip'),
      },
    },
    async ({ params: { product, set }, query }, reply) =>
      sendZip(reply, `${product}_${set}`, await listSetFiles(context, product, set, query.variant)),
  );

  app.get<ByProductAndSet & { Querystring: SetPlanQuery }>(
    PRODUCT_SET,
    {
      schema: {
        ...TAGS,
        summary: 'List the files of a picture set for a product, and which of them exist',
        querystring: SetPlanQuery,
        response: ok(SetPlanAnswer),
      },
    },
    async ({ params, query }): Promise<SetPlanAnswer> => {
      const planned = await planProductSet(context, params.product, params.set);
      const files = await locateFiles(context, planned);
      const set = planned.set.code;
      const product = planned.loaded.product.code;
      const url = `/api/products/${encodeURIComponent(product)}/picture-sets/${encodeURIComponent(set)}`;
      return {
        set,
        product,
        total: files.length,
        made: files.filter(({ held }) => held !== null).length,
        bytes: files.reduce((sum, { held }) => sum + (held?.bytes ?? 0), 0),
        ...(query.files !== '0' && { files: files.map((file) => toFileAnswer(url, file)) }),
        findings: planned.findings,
        zip: `${url}.zip`,
      };
    },
  );

  app.post<ByProductAndSet & { Body: SetJobBody }>(
    PRODUCT_SET,
    {
      schema: {
        ...TAGS,
        summary: 'Start a job that makes the missing files of a picture set',
        body: SetJobBody,
        response: accepted(SetJobAnswer),
      },
    },
    async ({ params, body }, reply) => {
      const { kept, ...job } = await addSetJob(context, params.product, params.set, randomUUID(), body.variants);
      const answer: SetJobAnswer = { ...toJobAnswer(job), kept };
      return reply.status(202).header('location', `/api/jobs/${job.id}`).send(answer);
    },
  );

  app.get<{ Params: ByProductAndSet['Params'] & { file: string } }>(
    `${PRODUCT_SET}/files/:file`,
    {
      schema: {
        ...TAGS,
        summary: 'Download a file of a set; Dyeworks makes it if it does not exist',
        response: bytes(...Object.values(FORMAT_TYPES)),
      },
    },
    async (request, reply) => {
      const { product, set, file } = request.params;
      return sendPicture(request, reply, await takeSetFile(context, product, set, file), file);
    },
  );
}

function toSetAnswer({ set, ready, replacesReady }: KnownSet): PictureSetAnswer {
  return { code: set.code, ...toGivenPictureSet(set), ready, replacesReady };
}

function toFileAnswer(url: string, { picture, held }: LocatedFile): SetFileAnswer {
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
    address: `${url}/files/${encodeURIComponent(fileName)}`,
  };
}
