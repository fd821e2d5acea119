import type { RepairOf } from '../../../core/repair/repair.ts';
import { count, formatMm } from '../../../core/texts/format-text.ts';
import type { NodeJson } from '../../document/json.ts';
import { listSceneNodes, multiply } from '../../document/world-matrices.ts';
import { measureBox } from '../../geometry/measure-box.ts';
import { moveRoots } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

/** Degrees: a turn of less moves nothing by what anybody could measure. */
const NONE = 1e-6;
/** Of a quaternion: what multiplying leaves of 0. */
const NOISE = 1e-12;

/**
 * Turns the whole scene about one of its axes, through its origin: the turn is put in front of the transforms of the scene’s
 * roots, so that animations, skins, cameras and lights below turn with them, and no byte of geometry changes. Where it stands after
 * that is for `place`.
 */
export const turn: Repairer<'turn'> = {
  async apply(edit, { axis, degrees }) {
    const { json } = edit;
    const angle = degrees % 360;
    if (Math.abs(angle) < NONE) return nothingToDo('A whole turn changes nothing.');
    if (!(json.nodes ?? []).length) return unfit('The scene shows nothing that could be turned.');
    const rotation = toQuaternion({ axis, degrees: angle });
    const { moved, wrapped } = moveRoots(json, {
      paths: ['translation', 'rotation'],
      apply: (node) => turnNode(node, rotation),
    });
    const { box } = measureBox(await edit.decode(), listSceneNodes(json));
    const sides = box && [0, 2, 1].map((at) => formatMm(box.max[at]! - box.min[at]!));
    return done(
      `Turned by ${Number(degrees.toFixed(6))}° about ${axis.toUpperCase()}.` +
        (sides ? ` It is ${sides[0]} wide, ${sides[1]} deep and ${sides[2]} high now.` : '') +
        (wrapped > 0
          ? ` ${count(wrapped, 'animated node')} ${wrapped === 1 ? 'hangs from a new node that carries' : 'hang from new nodes that carry'} the turn.`
          : ''),
      { axis, degrees, nodes: moved },
    );
  },
};

type Quaternion = readonly [x: number, y: number, z: number, w: number];

/** Counter-clockwise as seen from the positive end of the axis (right-handed); quarter turns to the last bit. */
function toQuaternion({ axis, degrees }: Pick<RepairOf<'turn'>, 'axis' | 'degrees'>): Quaternion {
  const half = (degrees * Math.PI) / 360;
  const about = degrees % 180 === 0 ? Math.sign(degrees) : Math.sin(half);
  const rest = degrees % 180 === 0 ? 0 : Math.cos(half);
  return [axis === 'x' ? about : 0, axis === 'y' ? about : 0, axis === 'z' ? about : 0, rest];
}

/** Puts a rotation in front of a node's own transform: what it moves is turned, and so is how it is turned itself. */
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
  // turned back to where it was, it needs no rotation
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

/** Of a quaternion of unit length; what is within float noise of a whole number is one, so that quarter turns stay exact. */
function toMatrix([x, y, z, w]: Quaternion): number[] {
  const rows = [
    [1 - 2 * (y * y + z * z), 2 * (x * y + w * z), 2 * (x * z - w * y), 0],
    [2 * (x * y - w * z), 1 - 2 * (x * x + z * z), 2 * (y * z + w * x), 0],
    [2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y), 0],
    [0, 0, 0, 1],
  ];
  return rows.flat().map((value) => (Math.abs(value - Math.round(value)) < 1e-15 ? Math.round(value) : value));
}
