import type { FastifyInstance } from 'fastify';
import { planBundle } from '../../actions/bundle-delivery.ts';
import { findCompressed } from '../../actions/compress-delivery.ts';
import type { Context } from '../../actions/context.ts';
import { getDelivery } from '../../actions/delivery-changes.ts';
import { findPart, findSubset, findVariantFile } from '../../actions/delivery-forms.ts';
import { findSamples } from '../../actions/make-samples.ts';
import { findProductUsd, findVariantUsd, makeUsdForms } from '../../actions/usd-forms.ts';
import { splitList } from '../../core/codes.ts';
import { USDZ } from '../../core/delivery/usd-form.ts';
import { Problem } from '../../core/problems.ts';
import { BundleQuery, type ManifestAnswer, SubsetQuery } from '../contracts/delivery.ts';
import { listBundle } from '../list-bundle.ts';
import { bytes, download } from '../responses.ts';
import { sendFile, sendParts, sendStoredZip } from '../send-bytes.ts';

type ByDelivery = { Params: { product: string; delivery: string } };

const GLB = 'model/gltf-binary';
const TAGS = { tags: ['deliveries'] };

/**
 * The files of a delivery.
 * @param address what stands before each path of this service in shop data; null: as the caller addresses it
 */
export function addDeliveryFileRoutes(app: FastifyInstance, context: Context, address: string | null): void {
  app.get<ByDelivery & { Querystring: SubsetQuery }>(
    '/api/products/:product/deliveries/:delivery/model.glb',
    {
      schema: {
        ...TAGS,
        summary: 'Download the delivered file, or one with some of its variants',
        querystring: SubsetQuery,
        response: bytes(GLB),
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      const manifest = await getDelivery(context, params.product, params.delivery);
      if (query.variants !== undefined) {
        const codes = splitList(query.variants);
        const file = await findSubset(context, manifest, codes);
        return sendParts(request, reply, file.open, describeGlb(manifest, file, 'variants'));
      }
      return sendFile(
        request,
        reply,
        context.files.getPath(manifest.file.sha256),
        describeGlb(manifest, manifest.file),
      );
    },
  );

  app.get<{ Params: ByDelivery['Params'] & { variant: string } }>(
    '/api/products/:product/deliveries/:delivery/variants/:variant(^.+).glb',
    {
      schema: {
        ...TAGS,
        summary: 'Download the file of one variant, without the extension for variants',
        response: bytes(GLB),
      },
    },
    async (request, reply) => {
      const { product, delivery, variant } = request.params;
      const manifest = await getDelivery(context, product, delivery);
      const file = await findVariantFile(context, manifest, variant);
      return sendParts(request, reply, file.open, describeGlb(manifest, file, variant));
    },
  );

  app.get<{ Params: ByDelivery['Params'] & { part: string } }>(
    '/api/products/:product/deliveries/:delivery/parts/:part(^.+).glb',
    { schema: { ...TAGS, summary: 'Download one of the files that a delivery is split into', response: bytes(GLB) } },
    async (request, reply) => {
      const { product, delivery, part } = request.params;
      const manifest = await getDelivery(context, product, delivery);
      const file = await findPart(context, manifest, part);
      return sendParts(request, reply, file.open, describeGlb(manifest, file, part));
    },
  );

  app.get<{ Params: ByDelivery['Params'] & { form: string } }>(
    '/api/products/:product/deliveries/:delivery/forms/:form(^.+).glb',
    { schema: { ...TAGS, summary: 'Download a compressed form of a delivery', response: bytes(GLB) } },
    async (request, reply) => {
      const { product, delivery, form } = request.params;
      const manifest = await getDelivery(context, product, delivery);
      const file = await findCompressed(context, manifest, form);
      return sendFile(request, reply, context.files.getPath(file.sha256), describeGlb(manifest, file, form));
    },
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/samples.glb',
    { schema: { ...TAGS, summary: 'Download a sample of each finish of a delivery', response: bytes(GLB) } },
    async (request, reply) => {
      const manifest = await getDelivery(context, request.params.product, request.params.delivery);
      const file = await findSamples(context, manifest);
      return sendFile(request, reply, context.files.getPath(file.sha256), describeGlb(manifest, file, 'samples'));
    },
  );

  app.get<{ Params: ByDelivery['Params'] & { variant: string } }>(
    '/api/products/:product/deliveries/:delivery/variants/:variant(^.+).usdz',
    {
      schema: {
        ...TAGS,
        summary: 'Download one variant as USDZ, in metres, standing on its surface; made at the first call',
        response: bytes(USDZ),
      },
    },
    async (request, reply) => {
      const { product, delivery, variant } = request.params;
      const manifest = await getDelivery(context, product, delivery);
      const file = await findVariantUsd(context, manifest, variant);
      return sendFile(request, reply, context.files.getPath(file.sha256), describeUsdz(manifest, file, variant));
    },
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/product.usdz',
    {
      schema: {
        ...TAGS,
        summary: 'Download all variants as one USDZ, with a variant set for each slot; made at the first call',
        response: bytes(USDZ),
      },
    },
    async (request, reply) => {
      const manifest = await getDelivery(context, request.params.product, request.params.delivery);
      const file = await findProductUsd(context, manifest);
      return sendFile(request, reply, context.files.getPath(file.sha256), describeUsdz(manifest, file));
    },
  );

  app.get<ByDelivery & { Querystring: BundleQuery }>(
    '/api/products/:product/deliveries/:delivery/bundle.zip',
    {
      schema: {
        ...TAGS,
        summary: 'Download the files of a delivery as a zip, each at its path below the delivery',
        querystring: BundleQuery,
        response: download('application/zip'),
      },
    },
    async ({ params, query, protocol, host }, reply) => {
      const manifest = await getDelivery(context, params.product, params.delivery);
      const forms = query.forms === undefined ? null : splitList(query.forms);
      if (forms?.includes('samples')) await findSamples(context, manifest);
      // a delivery of an earlier version may have none, and has its other files
      else if (!forms) await findSamples(context, manifest).catch(passUnknownSamples);
      if (forms) await makeUsdForms(context, manifest, forms);
      const sources = await planBundle(context, manifest, forms, address ?? `${protocol}://${host}`);
      const entries = listBundle(context.models, manifest, sources, context.files.getPath(manifest.file.sha256));
      return sendStoredZip(reply, `${manifest.product}-${manifest.delivery}`, entries);
    },
  );
}

function describeGlb(
  { product, delivery }: Pick<ManifestAnswer, 'product' | 'delivery'>,
  { sha256, bytes }: { readonly sha256: string; readonly bytes: number },
  of?: string,
) {
  const fileName = `${[product, delivery, ...(of === undefined ? [] : [of])].join('-')}.glb`;
  return { sha256, bytes, mediaType: GLB, fileName, immutable: true };
}

function describeUsdz(
  manifest: Parameters<typeof describeGlb>[0],
  file: Parameters<typeof describeGlb>[1],
  of?: string,
) {
  const described = describeGlb(manifest, file, of);
  return { ...described, mediaType: USDZ, fileName: described.fileName.replace(/glb$/, 'usdz') };
}

function passUnknownSamples(error: unknown): void {
  if (!(error instanceof Problem && error.code === 'samples-unknown')) throw error;
}
