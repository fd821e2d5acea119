import type { RepairOf } from '../../../core/repair/repair.ts';
import { REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { measureBox } from '../../geometry/measure-box.ts';
import { repackViews } from '../edit/freed-objects.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { listUnknownExtensions } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';
import { scaleModel } from './scale-model.ts';

const OUTCOMES = REPAIR_OUTCOMES.scale;

/**
 * How far the height may differ from the one for which the factor was chosen. Confused units differ by 2.54 or more; a
 * smaller difference is a changed design, for which the factor still holds.
 */
const SEEN_TOLERANCE = 1.8;
/** Single precision has seven digits, so a factor closer to 1 changes nothing. */
const SAME = 1e-6;

/** Scales a model by a factor or to a height; `scaleModel` lists what changes. */
export const scale: Repairer<'scale'> = {
  listLosses: ({ json }) => listUnknownExtensions(json),

  async apply(edit, repair) {
    if (!hasPositions(edit)) return unfit(OUTCOMES.noPositions);
    const model = await edit.decode();
    const before = measureHeight(model);
    const wrong = checkHeight(repair, before);
    if (wrong && isScaled(repair, before)) return nothingToDo(OUTCOMES.sameHeight(before!));
    if (wrong) return unfit(wrong);
    const factor = repair.factor ?? repair.toHeightMm! / 1000 / before!;
    if (!(factor > 0) || !Number.isFinite(factor)) return unfit(OUTCOMES.factor);
    if (Math.abs(factor - 1) < SAME) {
      return nothingToDo(before === null ? OUTCOMES.sameSize : OUTCOMES.sameHeight(before));
    }
    const scaled = scaleModel(edit, model, factor);
    if (!scaled) return unfit(OUTCOMES.unreadable);
    repackViews(edit);
    const after = measureHeight({ ...model, views: new Map([...model.views!, ...edit.added]), cache: undefined });
    const heightM = before === null || after === null ? null : { before, after };
    const message = OUTCOMES.done({ factor, unit: repair.unit, heightM, nodes: scaled.nodes });
    const outcome = done(message, {
      factor,
      ...(heightM && { heightMmBefore: toMm(heightM.before), heightMmAfter: toMm(heightM.after) }),
      meshes: scaled.meshes,
      nodesScaled: scaled.nodes,
    });
    return { ...outcome, touchesGeometry: scaled.meshes > 0 };
  },
};

function hasPositions({ json }: ModelEdit): boolean {
  return (json.nodes ?? []).some(
    ({ mesh }) =>
      mesh !== undefined && json.meshes![mesh]!.primitives.some(({ attributes }) => attributes.POSITION !== undefined),
  );
}

/** Height of the scene in metres; null when it shows nothing with a size. */
function measureHeight(model: LoadedModel): number | null {
  const { box } = measureBox(model, listSceneNodes(model.json));
  return box && box.max[1]! - box.min[1]!;
}

function checkHeight({ factor, seenHeightMm }: RepairOf<'scale'>, height: number | null): string | null {
  if (height === null) {
    const needed = factor === undefined || seenHeightMm !== undefined;
    return needed ? OUTCOMES.noHeight : null;
  }
  if (factor === undefined && height <= 0) return OUTCOMES.flat;
  if (seenHeightMm === undefined) return null;
  const ratio = (height * 1000) / seenHeightMm;
  if (ratio <= SEEN_TOLERANCE && ratio >= 1 / SEEN_TOLERANCE) return null;
  return OUTCOMES.otherHeight(seenHeightMm / 1000, height);
}

/** Whether the new export has the right unit already: its height is close to the height after the step. */
function isScaled({ factor, seenHeightMm }: RepairOf<'scale'>, height: number | null): boolean {
  if (height === null || factor === undefined || seenHeightMm === undefined) return false;
  const ratio = (height * 1000) / (seenHeightMm * factor);
  return ratio <= SEEN_TOLERANCE && ratio >= 1 / SEEN_TOLERANCE;
}

/** To a hundredth of a millimetre. */
const toMm = (metres: number) => Math.round(metres * 1e5) / 100;
