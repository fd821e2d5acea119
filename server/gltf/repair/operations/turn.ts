import type { RepairOf } from '../../../core/repair/repair.ts';
import { REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { NodeJson } from '../../document/json.ts';
import { listSceneNodes, multiply } from '../../document/world-matrices.ts';
import { measureBox } from '../../geometry/measure-box.ts';
import { moveRoots } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES.turn;

/** Degrees. A smaller turn moves nothing measurably. */
const NONE = 1e-6;
/** Components of a quaternion that are 0 apart from rounding. */
const NOISE = 1e-12;

/**
 * Turns the whole scene about one of its axes, through its origin. The rotation goes before the transforms of the scene's
 * roots, so animations, skins, cameras and lights turn with them, and geometry does not change. `place` corrects the position
 * afterwards.
 */
export const turn: Repairer<'turn'> = {
  async apply(edit, { axis, degrees }) {
    const { json } = edit;
    const angle = degrees % 360;
    if (Math.abs(angle) < NONE) return nothingToDo(OUTCOMES.wholeTurn);
    if (!(json.nodes ?? []).length) return unfit(OUTCOMES.empty);
    const rotation = toQuaternion({ axis, degrees: angle });
    const { moved, wrapped } = moveRoots(json, {
      paths: ['translation', 'rotation'],
      apply: (node) => turnNode(node, rotation),
    });
    const { box } = measureBox(await edit.decode(), listSceneNodes(json));
    const sideOf = (at: number) => box!.max[at]! - box!.min[at]!;
    const sides = box && ([sideOf(0), sideOf(2), sideOf(1)] as const);
    return done(OUTCOMES.done(degrees, axis, sides) + REPAIR_NOTES.wrapped(wrapped), { axis, degrees, nodes: moved });
  },
};

type Quaternion = readonly [x: number, y: number, z: number, w: number];

/** Counter-clockwise seen from the positive end of the axis (right-handed). Half turns are exact. */
function toQuaternion({ axis, degrees }: Pick<RepairOf<'turn'>, 'axis' | 'degrees'>): Quaternion {
  const half = (degrees * Math.PI) / 360;
  const about = degrees % 180 === 0 ? Math.sign(degrees) : Math.sin(half);
  const rest = degrees % 180 === 0 ? 0 : Math.cos(half);
  return [axis === 'x' ? about : 0, axis === 'y' ? about : 0, axis === 'z' ? about : 0, rest];
}

/** Applies a rotation before a node's own transform: it turns the node's translation and rotation. */
function turnNode(node: NodeJson, rotation: Quaternion): void {
  const matrix = toMatrix(rotation);
  if (node.matrix) {
    node.matrix = [...multiply(matrix, node.matrix)];
    return;
  }
  if (node.translation) {
    const [x, y, z] = node.translation as [number, number, number];
    node.translation = [0, 1, 2].map((row) => matrix[row]! * x + matrix[4 + row]! * y + matrix[8 + row]! * z);
  }
  const turned = multiplyQuaternions(rotation, (node.rotation as unknown as Quaternion | undefined) ?? [0, 0, 0, 1]);
  const length = Math.hypot(...turned);
  // the rotations cancel out
  if (turned.slice(0, 3).every((value) => Math.abs(value) < NOISE)) delete node.rotation;
  else node.rotation = turned.map((value) => value / length);
}

function multiplyQuaternions([ax, ay, az, aw]: Quaternion, [bx, by, bz, bw]: Quaternion): Quaternion {
  return [
    aw * bx + ax * bw + ay * bz - az * by,
    aw * by - ax * bz + ay * bw + az * bx,
    aw * bz + ax * by - ay * bx + az * bw,
    aw * bw - ax * bx - ay * by - az * bz,
  ];
}

/** @param quaternion of unit length. Entries within float noise of a whole number are rounded, so quarter turns are exact. */
function toMatrix([x, y, z, w]: Quaternion): number[] {
  const rows = [
    [1 - 2 * (y * y + z * z), 2 * (x * y + w * z), 2 * (x * z - w * y), 0],
    [2 * (x * y - w * z), 1 - 2 * (x * x + z * z), 2 * (y * z + w * x), 0],
    [2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y), 0],
    [0, 0, 0, 1],
  ];
  return rows.flat().map((value) => (Math.abs(value - Math.round(value)) < 1e-15 ? Math.round(value) : value));
}
