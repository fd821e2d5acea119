import { cleanText, foldCode } from '../core/codes.ts';
import { isSameHolding } from '../core/delivery/compare-deliveries.ts';
import {
  COLOUR_CAUTION,
  type DeliveryCheck,
  type DeliveryManifest,
  type FileSizes,
} from '../core/delivery/delivery.ts';
import { planMappings } from '../core/delivery/mapping-plan.ts';
import { planGroups } from '../core/delivery/plan-groups.ts';
import type { Written } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { type Finding, judge, makeFinding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { listUsedFinishes, type Schedule } from '../core/schedule/schedule.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { listFindings } from './check-product.ts';
import type { Context } from './context.ts';
import { compareWithNow, getLastDelivery, holdNow } from './delivery-changes.ts';
import { listDamagedMaps, makeMapReader } from './finish-maps.ts';
import { inTurns } from './in-turns.ts';
import { loadProduct } from './load-product.ts';
import { requireModel, requireSameProduct, requireSchedule, toRuleScope } from './loaded-product.ts';
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

  const plan = planMappings(model.survey, loaded.slots, schedule, names);
  const finishes = new Map(listUsedFinishes(schedule).map((code) => [foldCode(code), loaded.finishes.resolve(code)]));
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
  const groups = planGroups(loaded.slots, schedule, toRuleScope(loaded));
  const describe = (delivery: number, renamed: readonly Finding[]): DeliveryManifest => ({
    format: 'dyeworks-manifest/1',
    program,
    product: loaded.product.code,
    productName: loaded.product.name,
    delivery,
    createdAt,
    ...(note !== '' && { note }),
    file: { sha256: written.sha256, bytes: written.bytes, mediaType: 'model/gltf-binary' },
    ...holding,
    model: holding.model!,
    ...groups,
    sizes: listSizes(written),
    replacedVariants: written.replacedVariants,
    checks,
    findings: groupFindings([...findings, ...added, ...renamed]),
    caution: COLOUR_CAUTION,
  });
  return context.stores.transaction(async (tx) => {
    await requireSameProduct(tx, loaded);
    const last = await getLastDelivery({ stores: tx }, loaded);
    if (last?.file.sha256 === written.sha256) {
      // another call may have delivered the same in the meantime
      const stands = last.delivery === standing?.delivery ? isSame : await inTurns(isSameHolding(last, holding));
      if (stands) return { manifest: last, unchanged: true };
    }
    if (last?.delivery !== standing?.delivery && !isLastTry) return null;
    const renamed = listRenamed(last, schedule, names);
    return { manifest: await tx.addDelivery(code, (delivery) => describe(delivery, renamed)), unchanged: false };
  });
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
function listRenamed(before: DeliveryManifest | null, schedule: Schedule, names: 'name' | 'code'): Finding[] {
  if (names === 'code' || before?.names !== 'name') return [];
  const earlier = new Map(before.variants.map((variant) => [foldCode(variant.code), variant.name]));
  const renamed = schedule.variants.flatMap((variant) => {
    const was = earlier.get(foldCode(variant.code));
    return was !== undefined && was !== variant.name ? [{ code: variant.code, was, is: variant.name }] : [];
  });
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
