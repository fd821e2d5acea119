import { Problem } from '../core/problems.ts';
import { receivedRevisionOf } from '../core/product/model-revision.ts';
import type { Context } from './context.ts';
import { loadProduct, requireModel } from './load-product.ts';
import { type ReceivedModel, storeModel } from './receive-model.ts';
import { refreshSurvey } from './refresh-survey.ts';

/**
 * Makes the preparation as it stands now, on the model as it was last received: for after the list was edited.
 * @throws Problem `no-model`, `stale-model`
 */
export async function replayPreparation(
  context: Context,
  code: string,
  { hold }: { readonly hold: boolean },
): Promise<ReceivedModel> {
  const loaded = await loadProduct(context, code);
  const model = requireModel(loaded);
  const received = receivedRevisionOf(model);
  const stored = await context.stores.getRevision(code, received);
  if (!stored) throw new Error(`revision ${received} of ${code} is gone`);
  if ((await context.stores.getPreparation(code)).length === 0 && received === model.revision) {
    throw new Problem('nothing-to-replay', {
      detail:
        'The preparation has no steps, and the model is as it was received. Make a repair, or PUT a list of steps.',
    });
  }
  const { survey } = await refreshSurvey(context, code, stored);
  const { places: _, revision: __, ...source } = { ...stored, survey };
  const pieces = await context.stores.listPieces(code, received);
  return storeModel(context, loaded, { revision: received, model: { ...source, pieces } }, { hold });
}
