import type { RepairOf } from '../../../core/repair/repair.ts';
import { formatMm, formatNumber } from '../../../core/texts/format-text.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { measureBox } from '../../geometry/measure-box.ts';
import { repackViews } from '../edit/freed-objects.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { listUnknownExtensions } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';
import { type Scaled, scaleModel } from './scale-model.ts';

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
    if (!hasPositions(edit)) return unfit('The model has no positions to scale.');
    const model = await edit.decode();
    const before = measureHeight(model);
    const wrong = checkHeight(repair, before);
    if (wrong && isScaled(repair, before))
      return nothingToDo(`It is ${formatMm(before!)} high, which is its size already.`);
    if (wrong) return unfit(wrong);
    const factor = repair.factor ?? repair.toHeightMm! / 1000 / before!;
    if (!(factor > 0) || !Number.isFinite(factor)) return unfit('A factor is a number above 0.');
    if (Math.abs(factor - 1) < SAME) {
      return nothingToDo(
        before === null ? 'A factor of 1 changes nothing.' : `It is ${formatMm(before)} high already.`,
      );
    }
    const scaled = scaleModel(edit, model, factor);
    if (!scaled) {
      return unfit(
        'Some positions, or what animates them, cannot be read or are no finite numbers. Export the model again without them.',
      );
    }
    repackViews(edit);
    const after = measureHeight({ ...model, views: new Map([...model.views!, ...edit.added]), cache: undefined });
    const outcome = done(report(repair, factor, before, after, scaled), {
      factor,
      ...(before === null || after === null ? {} : { heightMmBefore: toMm(before), heightMmAfter: toMm(after) }),
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
    return needed ? 'The scene shows nothing whose height can be measured.' : null;
  }
  if (factor === undefined && height <= 0) return 'The model is flat: it has no height to scale by. Give a factor.';
  if (seenHeightMm === undefined) return null;
  const ratio = (height * 1000) / seenHeightMm;
  if (ratio <= SEEN_TOLERANCE && ratio >= 1 / SEEN_TOLERANCE) return null;
  return `The step was made for a model ${formatMm(seenHeightMm / 1000)} high; this one is ${formatMm(height)}.`;
}

/** Whether the new export has the right unit already: its height is close to the height after the step. */
function isScaled({ factor, seenHeightMm }: RepairOf<'scale'>, height: number | null): boolean {
  if (height === null || factor === undefined || seenHeightMm === undefined) return false;
  const ratio = (height * 1000) / (seenHeightMm * factor);
  return ratio <= SEEN_TOLERANCE && ratio >= 1 / SEEN_TOLERANCE;
}

function report(
  { unit }: RepairOf<'scale'>,
  factor: number,
  before: number | null,
  after: number | null,
  { nodes }: Scaled,
): string {
  const by = `Scaled by ${Number(factor.toPrecision(7))}${unit ? ` (${unit})` : ''}`;
  const height = before === null || after === null ? '' : `: ${formatMm(after)} high, ${formatMm(before)} before`;
  const packed =
    nodes === 0
      ? ''
      : ` ${formatNumber(nodes)} ${nodes === 1 ? 'node carries' : 'nodes carry'} the factor, since their geometry is quantised or compressed.`;
  return `${by}${height}.${packed}`;
}

/** To a hundredth of a millimetre. */
const toMm = (metres: number) => Math.round(metres * 1e5) / 100;
