import type { Repaired, RepairRequest } from '../../core/ports/models.ts';
import { Problem } from '../../core/problems.ts';
import { REPAIRS, type Repair, type RepairName, type RepairReport } from '../../core/repair/repair.ts';
import { REPAIR_PROBLEMS } from '../../core/texts/problems/model.ts';
import { REPAIR_NOTES } from '../../core/texts/repair-outcomes.ts';
import { readWholeFile } from '../document/container.ts';
import { isKnownExtension } from '../document/extensions.ts';
import { INDEXED } from '../document/visit-references.ts';
import { readModel } from '../mend/read-model.ts';
import { listFreed } from './edit/freed-objects.ts';
import { ModelEdit } from './edit/model-edit.ts';
import { writeEdit } from './edit/write-edit.ts';
import { bakeTransforms } from './operations/bake-transforms.ts';
import { boxUvs } from './operations/box-uvs.ts';
import { fitTextures } from './operations/fit-textures.ts';
import { fixScene } from './operations/fix-scene.ts';
import { mergeParts } from './operations/merge-parts.ts';
import { neutralDetail } from './operations/neutral-detail.ts';
import { place } from './operations/place.ts';
import { renameMaterials } from './operations/rename-materials.ts';
import { scale } from './operations/scale.ts';
import { separatePieces } from './operations/separate-pieces.ts';
import { setNonmetal } from './operations/set-nonmetal.ts';
import { stripUnused } from './operations/strip-unused.ts';
import { turn } from './operations/turn.ts';
import { turnOutward } from './operations/turn-outward.ts';
import { unshareMesh } from './operations/unshare-mesh.ts';
import type { Repairer } from './repairer.ts';

/**
 * Applies repairs one after the other to a model in memory, and writes the result.
 * @throws Problem `repair-unfit`, `repair-would-lose` in strict mode, before anything is written
 */
export async function repairModel({ sourcePath, targetPath, repairs, mode }: RepairRequest): Promise<Repaired> {
  const container = await readModel(sourcePath);
  const file = readWholeFile(sourcePath);
  const { bin } = container;
  const edit = new ModelEdit(container.json, bin && file.subarray(bin.offset, bin.offset + bin.length));
  const reports: RepairReport[] = [];
  for (const [index, repair] of repairs.entries()) {
    // a wrong guess would rename the wrong material
    edit.mayGuess = mode === 'replay' && repair.repair !== 'rename-materials';
    const report = mode === 'strict' ? await runRepair(edit, repair, index) : await tryRepair(edit, repair, index);
    if (mode === 'strict') refuse(report, index);
    reports.push(report);
  }
  const written = await writeEdit(edit, targetPath);
  return { ...written, reports };
}

/** Undoes a repair that fails unexpectedly, since it may be half done. */
async function tryRepair(edit: ModelEdit, repair: Repair, index: number): Promise<RepairReport> {
  const undo = edit.takeSnapshot();
  try {
    return await runRepair(edit, repair, index);
  } catch (cause) {
    if (!(cause instanceof Problem)) throw cause;
    undo();
    const message = cause.more.detail;
    return {
      repair,
      outcome: 'unfit',
      message,
      figures: {},
      touchesGeometry: REPAIRS[repair.repair].geometry,
      losses: [],
    };
  }
}

/** @throws Problem `repair-unfit` for an unexpected failure, after which the edit must not be used */
async function runRepair(edit: ModelEdit, repair: Repair, index: number): Promise<RepairReport> {
  try {
    return await makeRepair(edit, repair);
  } catch (cause) {
    if (cause instanceof Problem) throw cause;
    throw new Problem('repair-unfit', {
      detail: REPAIR_PROBLEMS['repair-unfit'].unexpected(repair.repair),
      where: `/repairs/${index}`,
      cause,
    });
  }
}

async function makeRepair(edit: ModelEdit, repair: Repair): Promise<RepairReport> {
  const repairer = REPAIRERS[repair.repair] as unknown as Repairer<RepairName>;
  const losses = repairer.listLosses?.(edit, repair as never) ?? [];
  const base = { repair, touchesGeometry: REPAIRS[repair.repair].geometry, losses };
  if (losses.length > 0 && !repair.accept) {
    const message = REPAIR_PROBLEMS['repair-would-lose'](losses);
    return { ...base, outcome: 'unfit', message, figures: {} };
  }
  const before = { ...edit.unpacked };
  edit.guesses.clear();
  const {
    outcome,
    message,
    figures = {},
    touchesGeometry = base.touchesGeometry,
  } = await repairer.apply(edit, repair as never);
  const asides = outcome === 'done' ? listAsides(edit, before) : { text: '', figures: {} };
  return {
    ...base,
    outcome,
    message: message + asides.text + describeGuesses(edit),
    figures: { ...figures, ...asides.figures },
    touchesGeometry,
    losses: outcome === 'done' ? losses : [],
  };
}

function describeGuesses({ guesses, json }: ModelEdit): string {
  if (guesses.size === 0) return '';
  return REPAIR_NOTES.guessed([...guesses], (json.materials?.length === 1 && json.materials[0]!.name) || null);
}

/** Side effects of a repair: compressed geometry that was unpacked, and unused objects that cannot be removed. */
function listAsides(
  edit: ModelEdit,
  before: { readonly before: number; readonly after: number },
): { readonly text: string; readonly figures: Record<string, number> } {
  const bytesPacked = edit.unpacked.before - before.before;
  const bytesUnpacked = edit.unpacked.after - before.after;
  const unused = edit.mayRenumber ? 0 : countFreed(edit);
  const unknown = (edit.json.extensionsUsed ?? []).filter((name) => !isKnownExtension(name));
  return {
    text:
      (bytesUnpacked > 0 ? REPAIR_NOTES.unpacked(bytesPacked, bytesUnpacked) : '') +
      (unused > 0 ? REPAIR_NOTES.unusedLeft(unused, unknown) : ''),
    figures: {
      ...(bytesUnpacked > 0 ? { bytesPacked, bytesUnpacked } : {}),
      ...(unused > 0 ? { unusedLeft: unused } : {}),
    },
  };
}

function countFreed({ json, source }: ModelEdit): number {
  const freed = listFreed(json, source.referred, source.lengths);
  return INDEXED.reduce((sum, array) => sum + freed[array].size, 0);
}

function refuse({ outcome, repair, message, losses }: RepairReport, index: number): void {
  if (outcome !== 'unfit') return;
  throw new Problem(losses.length > 0 ? 'repair-would-lose' : 'repair-unfit', {
    detail: REPAIR_PROBLEMS['repair-unfit'].ofRepair(repair.repair, message),
    where: `/repairs/${index}`,
    ...(losses.length > 0 ? { findings: losses } : {}),
  });
}

/** Every repair by its name. */
const REPAIRERS: { readonly [N in RepairName]: Repairer<N> } = {
  scale,
  place,
  'bake-transforms': bakeTransforms,
  'merge-parts': mergeParts,
  'separate-pieces': separatePieces,
  'set-nonmetal': setNonmetal,
  'neutral-detail': neutralDetail,
  'fit-textures': fitTextures,
  'strip-unused': stripUnused,
  'rename-materials': renameMaterials,
  'fix-scene': fixScene,
  'unshare-mesh': unshareMesh,
  'box-uvs': boxUvs,
  'turn-outward': turnOutward,
  turn,
};
