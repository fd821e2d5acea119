import { foldCode } from '../core/codes.ts';
import {
  COLOUR_CAUTION,
  type DeliveryCheck,
  type DeliveryManifest,
  type FileSizes,
} from '../core/delivery/delivery.ts';
import { planMappings } from '../core/delivery/mapping-plan.ts';
import type { Written } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { type Finding, judge, makeFinding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { listUsedFinishes, type Schedule } from '../core/schedule/schedule.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { listFindings } from './check-product.ts';
import type { Context } from './context.ts';
import { listDamagedMaps, makeMapReader } from './finish-maps.ts';
import { loadProduct } from './load-product.ts';
import { requireModel, requireSameProduct, requireSchedule } from './loaded-product.ts';
import { getTurn } from './turns.ts';
import { writeChecked } from './write-checked.ts';

/**
 * Writes a delivery: one GLB with every variant of the schedule. It is checked, numbered, and stored for good with its manifest.
 * When the caller leaves before that, it ends.
 * @throws Problem `no-model`, `no-schedule`, `delivery-blocked` with the findings that block it
 */
export async function deliver(
  context: Context,
  code: string,
  { names = 'name' }: { readonly names?: 'name' | 'code' } = {},
): Promise<DeliveryManifest> {
  const loaded = await loadProduct(context, code);
  const model = requireModel(loaded);
  const schedule = requireSchedule(loaded);
  const work = { product: loaded.product.code, signal: getTurn().signal };
  const findings = await listFindings(context, loaded, work.signal);
  if (judge(findings) === 'blocked') refuse(findings);

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
  const describe = (delivery: number, renamed: readonly Finding[]): DeliveryManifest => ({
    format: 'dyeworks-manifest/1',
    program: `Dyeworks ${context.version}`,
    product: loaded.product.code,
    productName: loaded.product.name,
    delivery,
    createdAt,
    file: { sha256: written.sha256, bytes: written.bytes, mediaType: 'model/gltf-binary' },
    model: { revision: model.revision, sha256: model.sha256, bytes: model.bytes },
    names,
    default: schedule.default,
    variants: schedule.variants,
    finishes: [...finishes.values()].map((finish) => ({
      finish: finish.finish,
      name: finish.name,
      revision: loaded.finishes.byCode.get(foldCode(finish.finish))!.revision,
      specified: finish.specification,
      hex: finish.hex,
      outOfGamutDeltaE: finish.outOfGamutDeltaE,
      colourFrom: finish.colourFrom,
      delivered: finish.delivered,
      levelled: finish.levelled,
      maps: finish.maps,
      ...(finish.supplied !== null && { supplied: finish.supplied }),
    })),
    slots: loaded.slots.map(({ slot, materialName, fixed, keep, grainDegrees, directions }) => ({
      slot,
      materialName,
      fixed,
      keep,
      grainDegrees,
      ...(directions && { directions }),
    })),
    sizes: listSizes(written),
    replacedVariants: written.replacedVariants,
    checks,
    findings: groupFindings([...findings, ...added, ...renamed]),
    caution: COLOUR_CAUTION,
  });
  return context.stores.transaction(async (tx) => {
    await requireSameProduct(tx, loaded);
    const [last] = await tx.listDeliveries(code);
    const renamed = listRenamed(last ? await tx.getDelivery(code, last.delivery) : null, schedule, names);
    return tx.addDelivery(code, (delivery) => describe(delivery, renamed));
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
