import type { Mount } from '../../../core/picture/picture.ts';
import { count, formatMm } from '../../../core/texts/format-text.ts';
import type { NodeJson } from '../../document/json.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { measureBox } from '../../geometry/measure-box.ts';
import { moveRoots } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

/** Metres: nearer than a tenth of a millimetre it stands where it should. */
const CLOSE = 1e-4;

/** What is to be at 0: the lowest or highest point, or, against a wall, the back, since fronts face +Z (glTF 2.0 §3.4). */
const CONTACT: Readonly<Record<Mount, { axis: 1 | 2; end: 'min' | 'max'; says: string }>> = {
  floor: { axis: 1, end: 'min', says: 'it stands on the floor' },
  table: { axis: 1, end: 'min', says: 'it stands on the table top' },
  ceiling: { axis: 1, end: 'max', says: 'it hangs from the ceiling' },
  wall: { axis: 2, end: 'min', says: 'its back is at the wall' },
};

/**
 * Sets a model down by its mount: on the floor, on a table, at the wall, under the ceiling, each at 0; centred, unless
 * that is not wanted, over x and z, against a wall over x alone. The scene's roots are shifted and no byte of geometry.
 */
export const place: Repairer<'place'> = {
  async apply(edit, { mount = 'floor', centred = true }) {
    const { json } = edit;
    const { box } = measureBox(await edit.decode(), listSceneNodes(json));
    if (!box) return unfit('The scene shows nothing that could be placed.');
    const { axis, end, says } = CONTACT[mount];
    const shift = [0, 1, 2].map((at) => {
      if (at === axis) return -box[end][at]!;
      return centred && at !== 1 ? -(box.min[at]! + box.max[at]!) / 2 : 0;
    });
    if (shift.every((by) => Math.abs(by) <= CLOSE)) {
      return nothingToDo(`Nothing to move: ${says}${centred ? ', centred' : ''}.`);
    }
    const { moved, wrapped } = moveRoots(json, { paths: ['translation'], apply: (node) => shiftNode(node, shift) });
    const told = shift.flatMap((by, at) => (Math.abs(by) > CLOSE ? [`${formatMm(by)} along ${'XYZ'[at]}`] : []));
    return done(
      `Moved ${told.join(', ')}: ${says}${centred ? ', centred' : ''}.` +
        (wrapped > 0
          ? ` ${count(wrapped, 'animated node')} ${wrapped === 1 ? 'hangs from a new node that carries' : 'hang from new nodes that carry'} the shift.`
          : ''),
      { shiftXMm: toMm(shift[0]!), shiftYMm: toMm(shift[1]!), shiftZMm: toMm(shift[2]!), nodes: moved },
    );
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
