import type { ModelMediaType } from '../core/ports/models.ts';
import type { NewModel, StoredBytes, StoredModel, Use } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { requireDecodable } from '../core/product/check-structure.ts';
import { compareModels, type ModelChanges } from '../core/product/compare-models.ts';
import type { Finding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { claimByPlaces, matchSlots, toClaims } from '../core/product/match-slots.ts';
import { deletedProduct, preparationOf, receivedRevisionOf, unknownRevision } from '../core/product/product.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import type { Survey } from '../core/product/survey.ts';
import type { Repair, RepairReport } from '../core/repair/repair.ts';
import { MODEL_TEXTS } from '../core/texts/answer-texts.ts';
import { REPAIR_PROBLEMS } from '../core/texts/problems/model.ts';
import { listModelFindings } from './check-product.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { getProduct, loadProduct, refreshSurvey } from './load-product.ts';
import { type LoadedProduct, listSlotsInUse, requireModel, requireSameProduct } from './loaded-product.ts';
import { makeRepairs } from './repair-product.ts';
import { getTurn } from './turns.ts';

interface ReceivedModel {
  /** The new revision. It is current, unless it is on hold. */
  readonly revision: number;
  readonly current: boolean;
  readonly sha256: string;
  readonly bytes: number;
  readonly survey: Survey;
  /** The slots of the product; for a revision on hold, those that it would have. */
  readonly slots: readonly Slot[];
  readonly findings: readonly Finding[];
  /** The outcome of every step of the preparation. */
  readonly prepared: readonly RepairReport[];
  /** Differences from the model that was current; null for the first. */
  readonly changes: ModelChanges | null;
}

/**
 * Receives a model. Dyeworks stores the upload unchanged, packs a `.gltf` or a zip into a GLB, surveys it, makes the product's
 * preparation, matches its slots with the existing ones, and makes it the current revision. A model that cannot be read is
 * not stored.
 * @param options `limitBytes`: largest upload. `hold`: store the revision, but do not make it current, so that a person can
 *   first look at the changes. `signal`: aborted when the caller leaves; a model that is being read is then dropped
 * @throws Problem `model-…`, `archive-…`, `geometry-undecodable`, `image-too-large`, `body-too-large`, `unknown-product`
 */
export async function receiveModel(
  context: Context,
  code: string,
  mediaType: ModelMediaType,
  body: AsyncIterable<Uint8Array>,
  {
    limitBytes,
    hold = false,
    signal,
  }: { readonly limitBytes: number; readonly hold?: boolean; readonly signal?: AbortSignal },
): Promise<ReceivedModel> {
  const { files, models } = context;
  await getProduct(context, code);
  const asked = await context.stores.getIdentity(code);
  const taken = await files.takeStream(body, limitBytes);
  let surveyed: Awaited<ReturnType<typeof models.survey>>;
  let source: StoredBytes;
  let stored: StoredBytes;
  try {
    surveyed = await models.survey(taken.path, mediaType, { product: code, signal });
    requireDecodable(surveyed.survey);
    source = await files.adopt(taken.path, taken.sha256);
    stored = surveyed.packed ? await files.adopt(surveyed.path, await files.digest(surveyed.path)) : source;
  } catch (error) {
    await files.discard(taken.path);
    await files.discard(`${taken.path}.glb`);
    // a thread that was stopped leaves what it was packing
    await files.discard(`${taken.path}.glb.bin`);
    throw error;
  }
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
  const loaded = await loadProduct(context, code);
  // an upload takes long: another product may have the code by now
  if (loaded.id !== asked?.id) throw deletedProduct(code);
  return storeModel(context, loaded, received, { hold });
}

/**
 * Stores a model as received and, if the product has a preparation, as prepared.
 * @param received a new model, or an existing revision with its model
 */
async function storeModel(
  context: Context,
  loaded: LoadedProduct,
  received: NewModel | { readonly revision: number; readonly model: NewModel },
  { hold }: { readonly hold: boolean },
): Promise<ReceivedModel> {
  const { files, stores } = context;
  const { code } = loaded.product;
  const steps = await stores.getPreparation(code);
  const source = 'model' in received ? received.model : received;
  const prepared = steps.length > 0 ? await prepare(context, code, source, steps) : null;
  const before = loaded.model && {
    survey: loaded.model.survey,
    pieces: await stores.listPieces(code, loaded.model.revision),
    bytes: loaded.model.bytes,
  };
  const after = prepared ?? source;
  const matching = before && (await inTurns(matchSlots(loaded.slots, before, after)));
  const claims = matching ? toClaims(matching) : new Map<number | null, string>();
  const derive = (known: readonly Slot[], inUse: ReadonlySet<string>) =>
    deriveSlots(after.survey, known, claims, inUse);
  const use = hold ? null : { ifCurrent: loaded.model?.revision ?? null, derive };
  if (prepared && prepared.path !== null) await files.adopt(prepared.path, prepared.sha256);
  const result = await stores.transaction(async (tx) => {
    await requireSameProduct(tx, loaded);
    if (!prepared) return tx.addModel(code, source, use);
    const from = 'model' in received ? received.revision : (await tx.addModel(code, received, null)).revision;
    const { sha256, bytes, survey, pieces, reports } = prepared;
    const origin = { kind: 'repaired' as const, from, received: from, reports, preparation: steps };
    return tx.addModel(code, { ...source, sha256, bytes, survey, pieces, origin }, use);
  });
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
    changes: before && matching && (await inTurns(compareModels(loaded.slots, before, after, matching))),
  };
}

/** Makes the preparation on a new model. If the result is broken, the model stays as received, and the reports say so. */
async function prepare(context: Context, product: string, source: NewModel, steps: readonly Repair[]) {
  const { signal } = getTurn();
  try {
    return await makeRepairs(context, source, steps, 'replay', { product, signal });
  } catch (error) {
    if (!(error instanceof Problem) || signal?.aborted) throw error;
    const reports = steps.map(
      (repair): RepairReport => ({
        repair,
        outcome: 'unfit',
        message: MODEL_TEXTS.preparationLeftOut(error.message),
        figures: {},
        touchesGeometry: false,
        losses: [],
      }),
    );
    return { ...source, path: null, reports };
  }
}

/**
 * Makes the current preparation again on the model as it was last received, for example after a person edited the steps.
 * @throws Problem `no-model`, `nothing-to-replay`, `stale-model`
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
 * Makes another revision current: an earlier one, which undoes later repairs, or one on hold. Slots return to their primitives
 * in that revision; their settings, the schedule and the finishes stay. The preparation becomes the one that led to the
 * revision, unless a person edited it or the revision is only the source of prepared ones. If the preparation changed since a
 * revision on hold arrived, Dyeworks prepares it again, which makes a further revision.
 * @throws Problem `unknown-product`, `unknown-revision`, `stale-model`
 */
export async function useRevision(context: Context, code: string, revision: number): Promise<readonly Slot[]> {
  const { stores } = context;
  const loaded = await loadProduct(context, code);
  const wanted = await loadRevision(context, code, revision);
  const current = loaded.model;
  if (current?.revision === revision) return loaded.slots;
  const steps = await stores.getPreparation(code);
  // a revision without places was never current: it is prepared again if the preparation has changed
  const isSource = (await stores.listRevisions(code)).some(
    ({ origin }) => origin.kind === 'repaired' && origin.received === revision,
  );
  if (wanted.places.length === 0 && !isSource && current && !isSame(steps, preparationOf(wanted))) {
    const received = receivedRevisionOf(wanted);
    const {
      places: _,
      revision: __,
      ...model
    } = received === revision ? wanted : await loadRevision(context, code, received);
    const pieces = await stores.listPieces(code, received);
    return (await storeModel(context, loaded, { revision: received, model: { ...model, pieces } }, { hold: false }))
      .slots;
  }
  const claims =
    wanted.places.length > 0 || !current
      ? claimByPlaces(wanted.places)
      : toClaims(
          await inTurns(
            matchSlots(
              loaded.slots,
              { survey: current.survey, pieces: await stores.listPieces(code, current.revision) },
              { survey: wanted.survey, pieces: await stores.listPieces(code, revision) },
            ),
          ),
        );
  const use: Use = {
    ifCurrent: current?.revision ?? null,
    derive: (known, inUse) => deriveSlots(wanted.survey, known, claims, inUse),
    // steps that a person edited are not replaced
    ...(wanted.places.length > 0 && {
      preparation: (steps: readonly Repair[]) =>
        isSame(steps, preparationOf(current)) ? preparationOf(wanted) : steps,
    }),
  };
  return stores.transaction(async (tx) => {
    await requireSameProduct(tx, loaded);
    return tx.useRevision(code, revision, use);
  });
}

const isSame = (one: unknown, other: unknown) => JSON.stringify(one) === JSON.stringify(other);

/** @throws Problem `unknown-revision` */
async function loadRevision(context: Context, code: string, revision: number): Promise<StoredModel> {
  const stored = await context.stores.getRevision(code, revision);
  if (!stored) throw unknownRevision(revision);
  return { ...stored, ...(await refreshSurvey(context, code, stored)) };
}
