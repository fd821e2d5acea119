import type { ModelMediaType } from '../core/ports/models.ts';
import { checkModel } from '../core/product/check-model.ts';
import type { Finding } from '../core/product/finding.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import type { Survey } from '../core/product/survey.ts';
import type { Context } from './context.ts';
import { getProduct } from './load-product.ts';

export interface ReceivedModel {
  readonly revision: number;
  readonly sha256: string;
  readonly bytes: number;
  readonly survey: Survey;
  readonly slots: readonly Slot[];
  readonly findings: readonly Finding[];
}

/**
 * Takes a model in: stored as it came, packed into a GLB where it was a `.gltf` or a zip, surveyed, and made the
 * product's next revision with its slots. Nothing is stored of a model that cannot be read.
 * @throws Problem `model-…`, `archive-…`, `image-too-large`, `body-too-large`, `unknown-product`
 */
export async function receiveModel(
  context: Context,
  code: string,
  mediaType: ModelMediaType,
  body: AsyncIterable<Uint8Array>,
  limitBytes: number,
): Promise<ReceivedModel> {
  const { files, models, stores } = context;
  const product = await getProduct(context, code);
  const received = await files.takeStream(body, limitBytes);
  let surveyed: Awaited<ReturnType<typeof models.survey>>;
  try {
    surveyed = await models.survey(received.path, mediaType);
  } catch (error) {
    await files.discard(received.path);
    await files.discard(`${received.path}.glb`);
    throw error;
  }
  const source = await files.adopt(received.path, received.sha256);
  const stored = surveyed.packed ? await files.adopt(surveyed.path, await files.digest(surveyed.path)) : source;
  const { survey } = surveyed;
  const { revision, slots } = await stores.addModel(
    code,
    { sha256: stored.sha256, bytes: stored.bytes, receivedSha256: surveyed.packed ? source.sha256 : null, survey },
    (known) => deriveSlots(survey, known),
  );
  return {
    revision,
    sha256: stored.sha256,
    bytes: stored.bytes,
    survey,
    slots,
    findings: checkModel(product, survey, slots),
  };
}
