import type { Mount } from '../../../core/picture/picture.ts';
import { REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { NodeJson } from '../../document/json.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { measureBox } from '../../geometry/measure-box.ts';
import { moveRoots } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES.place;

/** Metres. A model that is closer than a tenth of a millimetre is in place. */
const CLOSE = 1e-4;

/** What must be at 0: the lowest or highest point, or, at a wall, the back, since fronts face +Z (glTF 2.0 §3.4). */
const CONTACT: Readonly<Record<Mount, { axis: 1 | 2; end: 'min' | 'max' }>> = {
  floor: { axis: 1, end: 'min' },
  table: { axis: 1, end: 'min' },
  ceiling: { axis: 1, end: 'max' },
  wall: { axis: 2, end: 'min' },
};

/**
 * Places a model by its mount: on the floor, on a table, at the wall or under the ceiling, each at 0. Centres it along X and Z,
 * at a wall along X only, unless `centred` is false. Shifts the roots of the scene; geometry does not change.
 */
export const place: Repairer<'place'> = {
  async apply(edit, { mount = 'floor', centred = true }) {
    const { json } = edit;
    const { box } = measureBox(await edit.decode(), listSceneNodes(json));
    if (!box) return unfit(OUTCOMES.empty);
    const { axis, end } = CONTACT[mount];
    const shift = [0, 1, 2].map((at) => {
      if (at === axis) return -box[end][at]!;
      return centred && at !== 1 ? -(box.min[at]! + box.max[at]!) / 2 : 0;
    });
    const stands = { mount, isCentred: centred };
    const shown = shift.map((by) => (Math.abs(by) > CLOSE ? by : null));
    if (shown.every((by) => by === null)) return nothingToDo(OUTCOMES.inPlace(stands));
    const { moved, wrapped } = moveRoots(json, { paths: ['translation'], apply: (node) => shiftNode(node, shift) });
    return done(OUTCOMES.done(shown, stands) + REPAIR_NOTES.wrapped(wrapped), {
      shiftXMm: toMm(shift[0]!),
      shiftYMm: toMm(shift[1]!),
      shiftZMm: toMm(shift[2]!),
      nodes: moved,
    });
  },
};

const toMm = (metres: number) => Math.round(metres * 1e5) / 100;

function shiftNode(node: NodeJson, shift: readonly number[]): void {
  if (node.matrix) {
    node.matrix = node.matrix.map((value, at) => (at > 11 && at < 15 ? value + shift[at - 12]! : value));
    return;
  }
  const moved = (node.translation ?? [0, 0, 0]).map((value, at) => value + shift[at]!);
  if (moved.every((value) => value === 0)) delete node.translation;
  else node.translation = moved;
}
