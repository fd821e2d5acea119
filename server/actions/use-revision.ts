import { claimByPlaces, matchSlots, toClaims } from '../core/product/match-slots.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import { unknownRevision } from '../core/product/unknown-revision.ts';
import type { Context } from './context.ts';
import { listSlotsInUse, loadProduct } from './load-product.ts';
import { refreshSurvey } from './refresh-survey.ts';

/**
 * Makes another revision current: an earlier one, which undoes the repairs since, or one that was held back. Slots go
 * back to where they were in it; what was said of them, schedules and finishes stay. The preparation becomes what leads
 * to that revision.
 * @throws Problem `unknown-product`, `unknown-revision`, `stale-model`
 */
export async function useRevision(context: Context, code: string, revision: number): Promise<readonly Slot[]> {
  const { stores } = context;
  const loaded = await loadProduct(context, code);
  const stored = await stores.getRevision(code, revision);
  if (!stored) throw unknownRevision(revision);
  const wanted = { ...stored, ...(await refreshSurvey(context, code, stored)) };
  const current = loaded.model;
  if (current?.revision === revision) return loaded.slots;
  const claims =
    stored.places.length > 0 || !current
      ? claimByPlaces(stored.places)
      : toClaims(
          matchSlots(
            loaded.slots,
            { survey: current.survey, pieces: await stores.listPieces(code, current.revision) },
            { survey: wanted.survey, pieces: await stores.listPieces(code, revision) },
          ),
        );
  const inUse = listSlotsInUse(loaded);
  return stores.useRevision(code, revision, {
    ifCurrent: current?.revision ?? null,
    derive: (known) => deriveSlots(wanted.survey, known, claims, inUse),
    preparation: stored.origin.kind === 'repaired' ? stored.origin.preparation : [],
  });
}
