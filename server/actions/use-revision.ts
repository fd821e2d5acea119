import type { StoredModel } from '../core/ports/stores.ts';
import { claimByPlaces, matchSlots, toClaims } from '../core/product/match-slots.ts';
import { preparationOf, receivedRevisionOf, unknownRevision } from '../core/product/model-revision.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { storeModel } from './receive-model.ts';
import { refreshSurvey } from './refresh-survey.ts';

/**
 * Makes another revision current: an earlier one, which undoes the repairs since, or one that was held back. Slots go
 * back to where they were in it; what was said of them, schedules and finishes stay. The preparation becomes what leads
 * to that revision, unless it was edited by hand or the
 * revision is only the source of prepared ones. One that was held back is prepared anew where the preparation has
 * changed meanwhile, and so becomes a further revision.
 * @throws Problem `unknown-product`, `unknown-revision`, `stale-model`
 */
export async function useRevision(context: Context, code: string, revision: number): Promise<readonly Slot[]> {
  const { stores } = context;
  const loaded = await loadProduct(context, code);
  const wanted = await needRevision(context, code, revision);
  const current = loaded.model;
  if (current?.revision === revision) return loaded.slots;
  const steps = await stores.getPreparation(code);
  // one that was never current waited while the preparation may have gone on: then it is prepared as it would be now
  const isSource = (await stores.listRevisions(code)).some(
    ({ origin }) => origin.kind === 'repaired' && origin.received === revision,
  );
  if (wanted.places.length === 0 && !isSource && current && !isSame(steps, preparationOf(wanted))) {
    const received = receivedRevisionOf(wanted);
    const {
      places: _,
      revision: __,
      ...model
    } = received === revision ? wanted : await needRevision(context, code, received);
    const pieces = await stores.listPieces(code, received);
    return (await storeModel(context, loaded, { revision: received, model: { ...model, pieces } }, { hold: false }))
      .slots;
  }
  const claims =
    wanted.places.length > 0 || !current
      ? claimByPlaces(wanted.places)
      : toClaims(
          matchSlots(
            loaded.slots,
            { survey: current.survey, pieces: await stores.listPieces(code, current.revision) },
            { survey: wanted.survey, pieces: await stores.listPieces(code, revision) },
          ),
        );
  return stores.useRevision(code, revision, {
    ifCurrent: current?.revision ?? null,
    derive: (known, inUse) => deriveSlots(wanted.survey, known, claims, inUse),
    // a list that was edited by hand is not thrown away by looking at another revision
    ...(isSame(steps, preparationOf(current)) && wanted.places.length > 0
      ? { preparation: preparationOf(wanted) }
      : {}),
  });
}

const isSame = (one: unknown, other: unknown) => JSON.stringify(one) === JSON.stringify(other);

async function needRevision(context: Context, code: string, revision: number): Promise<StoredModel> {
  const stored = await context.stores.getRevision(code, revision);
  if (!stored) throw unknownRevision(revision);
  return { ...stored, ...(await refreshSurvey(context, code, stored)) };
}
