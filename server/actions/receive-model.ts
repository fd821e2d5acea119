import type { ModelMediaType } from '../core/ports/models.ts';
import type { NewModel, StoredModel } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { groupFindings } from '../core/product/check-model.ts';
import { requireDecodable } from '../core/product/check-structure.ts';
import { compareModels, type ModelChanges } from '../core/product/compare-models.ts';
import type { Finding } from '../core/product/finding.ts';
import { claimByPlaces, matchSlots, toClaims } from '../core/product/match-slots.ts';
import { preparationOf, receivedRevisionOf, unknownRevision } from '../core/product/product.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import type { Survey } from '../core/product/survey.ts';
import type { Repair, RepairReport } from '../core/repair/repair.ts';
import { REPAIR_PROBLEMS } from '../core/texts/problems/model.ts';
import { listModelFindings } from './check-product.ts';
import type { Context } from './context.ts';
import { getProduct, loadProduct, refreshSurvey } from './load-product.ts';
import { type LoadedProduct, listSlotsInUse, requireModel } from './loaded-product.ts';
import { makeRepairs } from './repair-product.ts';

export interface ReceivedModel {
  /** The revision that is current now or, when it was held back, waits to be. */
  readonly revision: number;
  readonly current: boolean;
  readonly sha256: string;
  readonly bytes: number;
  readonly survey: Survey;
  /** Slots as they are, or would be. */
  readonly slots: readonly Slot[];
  readonly findings: readonly Finding[];
  /** What came of every step of the preparation; empty when there is none. */
  readonly prepared: readonly RepairReport[];
  /** Against the model that was current; null for the first. */
  readonly changes: ModelChanges | null;
}

/**
 * Takes a model in: stored as it came, packed into a GLB where it was a `.gltf` or a zip, surveyed, put through the
 * product's preparation, its slots matched with those there are, and made the current revision, unless it is to be held
 * back until somebody has looked at what it changes. Nothing is stored of a model that cannot be read.
 * @throws Problem `model-…`, `archive-…`, `geometry-undecodable`, `image-too-large`, `body-too-large`, `unknown-product`
 */
export async function receiveModel(
  context: Context,
  code: string,
  mediaType: ModelMediaType,
  body: AsyncIterable<Uint8Array>,
  { limitBytes, hold = false }: { readonly limitBytes: number; readonly hold?: boolean },
): Promise<ReceivedModel> {
  const { files, models } = context;
  await getProduct(context, code);
  const taken = await files.takeStream(body, limitBytes);
  let surveyed: Awaited<ReturnType<typeof models.survey>>;
  try {
    surveyed = await models.survey(taken.path, mediaType);
    requireDecodable(surveyed.survey);
  } catch (error) {
    await files.discard(taken.path);
    await files.discard(`${taken.path}.glb`);
    throw error;
  }
  const source = await files.adopt(taken.path, taken.sha256);
  const stored = surveyed.packed ? await files.adopt(surveyed.path, await files.digest(surveyed.path)) : source;
  const { survey, pieces } = surveyed;
  const received: NewModel = {
    sha256: stored.sha256,
    bytes: stored.bytes,
    receivedSha256: surveyed.packed ? source.sha256 : null,
    origin: { kind: 'received' },
    createdAt: context.now().toISOString(),
    survey,
    pieces,
  };
  return storeModel(context, await loadProduct(context, code), received, { hold });
}

/**
 * Stores a model as it was received and, after its preparation, as it is to be used.
 * @param received a new model, or the revision that holds it already
 */
export async function storeModel(
  context: Context,
  loaded: LoadedProduct,
  received: NewModel | { readonly revision: number; readonly model: NewModel },
  { hold }: { readonly hold: boolean },
): Promise<ReceivedModel> {
  const { files, stores } = context;
  const { code } = loaded.product;
  const steps = await stores.getPreparation(code);
  const source = 'model' in received ? received.model : received;
  const prepared = steps.length > 0 ? await prepare(context, source, steps) : null;
  const before = loaded.model && {
    survey: loaded.model.survey,
    pieces: await stores.listPieces(code, loaded.model.revision),
    bytes: loaded.model.bytes,
  };
  const after = prepared ?? source;
  const matching = before && matchSlots(loaded.slots, before, after);
  const claims = matching ? toClaims(matching) : new Map<number | null, string>();
  const derive = (known: readonly Slot[], inUse: ReadonlySet<string>) =>
    deriveSlots(after.survey, known, claims, inUse);
  const use = hold ? null : { ifCurrent: loaded.model?.revision ?? null, derive };
  let result: { readonly revision: number; readonly slots: readonly Slot[] };
  if (prepared) {
    if (prepared.path !== null) await files.adopt(prepared.path, prepared.sha256);
    const from = 'model' in received ? received.revision : (await stores.addModel(code, received, null)).revision;
    const { sha256, bytes, survey, pieces, reports } = prepared;
    const origin = { kind: 'repaired' as const, from, received: from, reports, preparation: steps };
    result = await stores.addModel(code, { ...source, sha256, bytes, survey, pieces, origin }, use);
  } else {
    result = await stores.addModel(code, source, use);
  }
  const slots = hold ? derive(loaded.slots, listSlotsInUse(loaded)) : result.slots;
  const origin = prepared
    ? { kind: 'repaired' as const, from: 0, received: 0, reports: prepared.reports, preparation: steps }
    : source.origin;
  const { sha256, bytes, survey, pieces } = after;
  const model = { ...source, revision: result.revision, sha256, bytes, survey, origin };
  return {
    revision: result.revision,
    current: !hold,
    sha256,
    bytes,
    survey,
    slots,
    findings: groupFindings(listModelFindings({ ...loaded, model, slots, pieces })),
    prepared: prepared?.reports ?? [],
    changes: before && matching && compareModels(loaded.slots, before, after, matching),
  };
}

/** Runs the preparation on a new model. When the result is broken, the model stays as it arrived, and the answer says so. */
async function prepare(context: Context, source: NewModel, steps: readonly Repair[]) {
  try {
    return await makeRepairs(context, source, steps, 'replay');
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const reports = steps.map(
      (repair): RepairReport => ({
        repair,
        outcome: 'unfit',
        message: `The preparation was left out as a whole: ${error.message}`,
        figures: {},
        touchesGeometry: false,
        losses: [],
      }),
    );
    return { ...source, path: null, reports };
  }
}

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
      detail: REPAIR_PROBLEMS['nothing-to-replay'],
    });
  }
  const { survey } = await refreshSurvey(context, code, stored);
  const { places: _, revision: __, ...source } = { ...stored, survey };
  const pieces = await context.stores.listPieces(code, received);
  return storeModel(context, loaded, { revision: received, model: { ...source, pieces } }, { hold });
}

/**
 * Makes another revision current: an earlier one, which undoes the repairs since, or one that was held back. Slots go
 * back to where they were in it; what was said of them, schedules and finishes stay. The preparation becomes what leads
 * to that revision, unless it was edited by hand or the
 * revision is only the source of prepared ones. A revision that was held back is prepared again where the preparation has
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
