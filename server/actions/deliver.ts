import { cleanText, foldCode } from '../core/codes.ts';
import { isSameHolding } from '../core/delivery/compare-deliveries.ts';
import {
  COLOUR_CAUTION,
  type DeliveryCheck,
  type DeliveryManifest,
  type FileSizes,
} from '../core/delivery/delivery.ts';
import { planMappingsSliced } from '../core/delivery/mapping-plan.ts';
import { planGroups } from '../core/delivery/plan-groups.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import type { Written } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { type Finding, makeFinding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { judge } from '../core/product/verdict.ts';
import { listUsedFinishes, type Schedule } from '../core/schedule/schedule.ts';
import { SLICE, type Sliced } from '../core/slices.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { listFindings } from './check-product.ts';
import type { Context } from './context.ts';
import { compareWithNow, getLastDelivery, holdNow } from './delivery-changes.ts';
import { listDamagedMaps, makeMapReader } from './finish-maps.ts';
import { giveTurn, inTurns } from './in-turns.ts';
import { loadProduct } from './load-product.ts';
import {
  type LoadedProduct,
  requireModel,
  requireSameProduct,
  requireSchedule,
  toRuleScope,
} from './loaded-product.ts';
import { addSkus, listSkuFindings, planSkus, recordShopData } from './record-shop-data.ts';
import { getTurn } from './turns.ts';
import { writeChecked } from './write-checked.ts';

export interface Delivered {
  readonly manifest: DeliveryManifest;
  /** Whether nothing changed, so that the last delivery stands and no other one was made. */
  readonly unchanged: boolean;
}

interface DeliverOptions {
  /** What the variants are called in the file. */
  readonly names?: 'name' | 'code';
  /** Free text for whoever uses the delivery. */
  readonly note?: string;
}

const RESOLVED_AT_ONCE = 5;

const TAKEN_MEANWHILE = makeFinding('sku-taken:meanwhile', {}, { where: 'product' });

/** When others keep delivering in the meantime, the last try stores what it wrote. */
const MOST_TRIES = 3;

/**
 * Writes a delivery: one GLB with every variant of the schedule. It is checked, numbered, and stored for good with its manifest.
 * If nothing changed since the last delivery, that one stands. Another version of Dyeworks may write other bytes: then the file
 * is written, and compared.
 * When the caller leaves before that, it ends.
 * @throws Problem `no-model`, `no-schedule`, `delivery-blocked` with the findings that block it
 */
export async function deliver(
  context: Context,
  code: string,
  { names = 'name', note }: DeliverOptions = {},
): Promise<Delivered> {
  for (let tries = 1; ; tries++) {
    const delivered = await tryToDeliver(context, code, { names, note: cleanText(note ?? '') }, tries === MOST_TRIES);
    if (delivered) return delivered;
  }
}

/** @returns null if another call has delivered in the meantime, since an older state must not come after a newer one */
async function tryToDeliver(
  context: Context,
  code: string,
  { names, note }: Required<DeliverOptions>,
  isLastTry: boolean,
): Promise<Delivered | null> {
  const loaded = await loadProduct(context, code);
  const model = requireModel(loaded);
  const schedule = requireSchedule(loaded);
  const work = { product: loaded.product.code, signal: getTurn().signal };
  const findings = await listFindings(context, loaded, work.signal);
  if (judge(findings) === 'blocked') refuse(findings);
  const program = `Dyeworks ${context.version}`;
  const standing = await getLastDelivery(context, loaded);
  const isSame = standing !== null && (await compareWithNow(context, loaded, standing, names)).changes.length === 0;
  if (isSame && standing.program === program && (await context.files.has(standing.file.sha256))) {
    return { manifest: standing, unchanged: true };
  }

  const skus = await planSkus(context, loaded);
  if (skus.faults.length > 0) refuse(skus.faults);
  const plan = await inTurns(planMappingsSliced(model.survey, loaded.slots, schedule, names));
  const finishes = await resolveUsed(loaded, schedule);
  const damaged = await listDamagedMaps(context, finishes.values());
  if (damaged.length > 0) refuse(damaged);
  const targetPath = await context.files.newTemporary();
  let written: Written;
  let checks: readonly DeliveryCheck[];
  try {
    const sourcePath = context.files.getPath(model.sha256);
    const { images } = model.survey;
    const request = { sourcePath, targetPath, images, plan, finishes, readMap: makeMapReader(context) };
    ({ written, checks } = await writeChecked(context.models, request, work));
    await context.files.adopt(targetPath, written.sha256);
  } catch (error) {
    await context.files.discard(targetPath);
    throw error;
  }
  // the readiness check has already made some findings of the writer, with the same messages
  const known = new Set(findings.map(({ message }) => message));
  const added = written.findings.filter(({ message }) => !known.has(message));
  const createdAt = context.now().toISOString();
  const holding = holdNow(loaded, names);
  const variants = await inTurns(addSkus(holding.variants, skus));
  // withdrawn or not: shops have seen it
  const [newest] = await context.stores.listDeliveries(loaded.product.code);
  const seen = newest ? await context.stores.getDelivery(loaded.product.code, newest.delivery) : null;
  const shop = await inTurns(recordShopData(loaded, variants, holding.finishes, seen));
  const groups = planGroups(loaded.slots, schedule, toRuleScope(loaded));
  const describe = (renamed: readonly Finding[]): Omit<DeliveryManifest, 'delivery'> => ({
    format: 'dyeworks-manifest/1',
    program,
    product: loaded.product.code,
    productName: loaded.product.name,
    createdAt,
    ...(note !== '' && { note }),
    file: { sha256: written.sha256, bytes: written.bytes, mediaType: 'model/gltf-binary' },
    ...holding,
    variants,
    model: holding.model!,
    ...groups,
    sizes: listSizes(written),
    replacedVariants: written.replacedVariants,
    checks,
    findings: groupFindings([...findings, ...added, ...renamed]),
    caution: COLOUR_CAUTION,
    shop,
  });
  // rows are compared and written before the transaction, which all other calls wait for: it only looks whether the last delivery
  // is still it
  for (let last = standing; ; last = await getLastDelivery(context, loaded)) {
    // another call may have delivered the same in the meantime
    const stands =
      last?.file.sha256 === written.sha256 &&
      (last.delivery === standing?.delivery ? isSame : await inTurns(isSameHolding(last, holding)));
    if (!stands && last?.delivery !== standing?.delivery && !isLastTry) return null;
    const renamed = await inTurns(listRenamed(last, schedule, names));
    const manifest = stands ? null : await context.stores.writeManifest(describe(renamed));
    const delivered = await context.stores.transaction(async (tx): Promise<Delivered | null> => {
      await requireSameProduct(tx, loaded);
      const now = await tx.getDeliverySummary(loaded.product.code, 'current');
      if (now?.delivery !== last?.delivery) return null;
      if (!manifest) return { manifest: last!, unchanged: true };
      if (!(await tx.addSentSkus(code, [...skus.skus.values()]))) {
        // another delivery has taken one in the meantime, and undoes this one
        refuse([...(await listSkuFindings({ stores: tx }, loaded)), TAKEN_MEANWHILE]);
      }
      return { manifest: await tx.addDelivery(code, manifest), unchanged: false };
    });
    if (delivered) return delivered;
  }
}

/** The finishes of a schedule, by folded code. To resolve one takes up to a millisecond, so others have turns in between. */
async function resolveUsed({ finishes }: LoadedProduct, schedule: Schedule): Promise<Map<string, ResolvedFinish>> {
  const resolved = new Map<string, ResolvedFinish>();
  for (const code of listUsedFinishes(schedule)) {
    if (resolved.size % RESOLVED_AT_ONCE === RESOLVED_AT_ONCE - 1) await giveTurn();
    resolved.set(foldCode(code), finishes.resolve(code));
  }
  return resolved;
}

function refuse(findings: readonly Finding[]): never {
  const blocking = groupFindings(findings.filter((finding) => finding.severity === 'error'));
  throw new Problem('delivery-blocked', {
    detail: PRODUCT_PROBLEMS['delivery-blocked'](blocking.length, blocking[0]!.message),
    findings: blocking,
  });
}

function listSizes(written: Written): FileSizes {
  const { jsonBytes, modelBytes, addedImageBytes, leftOutBytes, deadBytes, materials, images } = written;
  return { jsonBytes, modelBytes, addedImageBytes, leftOutBytes, deadBytes, materials, images };
}

/** Shops select variants by name. A name that changed since the last delivery breaks such a shop. */
export function* listRenamed(
  before: Pick<DeliveryManifest, 'names' | 'variants' | 'delivery'> | null,
  schedule: Pick<Schedule, 'variants'>,
  names: 'name' | 'code',
): Sliced<Finding[]> {
  if (names === 'code' || before?.names !== 'name') return [];
  const earlier = new Map<string, string>();
  for (const [at, variant] of before.variants.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    earlier.set(foldCode(variant.code), variant.name);
  }
  const renamed: { code: string; was: string; is: string }[] = [];
  for (const [at, variant] of schedule.variants.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    const was = earlier.get(foldCode(variant.code));
    if (was !== undefined && was !== variant.name) renamed.push({ code: variant.code, was, is: variant.name });
  }
  if (renamed.length === 0) return [];
  return [
    makeFinding(
      'renamed-since-delivery',
      { variants: renamed.length, delivery: before.delivery, ...renamed[0]! },
      {
        where: 'schedule',
        seen: renamed.slice(0, 20),
      },
    ),
  ];
}
