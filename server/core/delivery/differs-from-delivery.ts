import { canonical } from '../canonical.ts';
import { foldCode } from '../codes.ts';
import type { Article, Finish, StoredFinish } from '../finish/finish.ts';
import { listDifferences } from '../history/compare-values.ts';
import type { Slot } from '../product/slot.ts';
import type { Schedule } from '../schedule/schedule.ts';
import type { DeliveryManifest } from './delivery.ts';

/** What the next delivery would be made of. */
interface Deliverable {
  /** SHA-256 of the current model; null without one. */
  readonly model: string | null;
  readonly slots: readonly Slot[];
  readonly schedule: Schedule | null;
}

/** Whether model, slots or schedule differ from those of a delivery. Finishes are compared by `listRevised`. */
export function differsFromDelivery(manifest: DeliveryManifest, { model, slots, schedule }: Deliverable): boolean {
  if (model !== manifest.model.sha256 || schedule === null || schedule.default !== manifest.default) return true;
  if (canonical(schedule.variants) !== canonical(manifest.variants)) return true;
  // slots that only were renamed deliver the same
  return canonical(slots.map(pickDelivered)) !== canonical(manifest.slots.map(pickDelivered));
}

function pickDelivered({
  slot,
  materialName,
  fixed,
  keep,
  grainDegrees,
  directions,
}: DeliveryManifest['slots'][number]) {
  return { slot, materialName, fixed, keep, grainDegrees, ...(directions && { directions }) };
}

interface Revised {
  readonly finish: string;
  readonly from: number;
  /** Null if the finish was deleted. */
  readonly to: StoredFinish | null;
}

/** The finishes of a delivery that were saved since then. @param finishes by folded code */
export function listRevised(
  { finishes }: DeliveryManifest,
  now: ReadonlyMap<string, StoredFinish>,
): readonly Revised[] {
  return finishes
    .map(({ finish, revision }) => ({ finish, from: revision, to: now.get(foldCode(finish)) ?? null }))
    .filter(({ from, to }) => to?.revision !== from);
}

/** Fields of finishes and articles that no delivery contains. */
const UNDELIVERED: ReadonlySet<string> = new Set([
  'revision',
  'names',
  'reference',
  'display',
  'supplier',
  'note',
  'tags',
  'status',
  'companions',
  'composition',
  'metalName',
  'threadsPerCm',
]);

/** Whether a change of a finish reaches deliveries. */
export function changesDelivery(before: Finish, after: Finish): boolean {
  return hasDelivered(before, after, new Set());
}

/** Whether a change of an article reaches deliveries of its finishes. */
export function articleChangesDelivery(before: Article | null, after: Article | null): boolean {
  if (before === null || after === null) return before !== after;
  return hasDelivered(before, after, new Set(['name']));
}

function hasDelivered(before: object, after: object, more: ReadonlySet<string>): boolean {
  return listDifferences(before, after).some(({ field }) => {
    const [first = ''] = field.split('.');
    return !UNDELIVERED.has(first) && !more.has(first);
  });
}
