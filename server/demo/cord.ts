import type { Mesh, Placement, Vector } from './geometry/mesh.ts';
import { add, alongAxis } from './geometry/mesh.ts';
import { curvePath, makeTube } from './geometry/tube.ts';

/** A textile cable of 6.4 mm. */
export const CORD_RADIUS_M = 0.0032;
/** One repeat of the braid map: a turn of the sleeve, and about as much along it, so that strands run at 45°. */
export const BRAID_REPEAT_M = 0.0201;

/** Height of the cord's axis inside the switch and the plug. */
export const FITTING_AXIS_M = 0.0095;

const LIE = CORD_RADIUS_M;
const LIFT = FITTING_AXIS_M;

/** Out of the back of the base, round its right side to the switch, and on to the plug in front. */
const PATH: readonly Vector[] = [
  [0.0, 0.0108, -0.062],
  [0.001, 0.0105, -0.078],
  [0.007, 0.007, -0.095],
  [0.022, LIE, -0.112],
  [0.052, LIE, -0.124],
  [0.088, LIE, -0.117],
  [0.114, LIE, -0.087],
  [0.1245, 0.0045, -0.05],
  [0.1262, LIFT, -0.022],
  [0.1262, LIFT, 0.034],
  [0.1235, 0.0045, 0.062],
  [0.108, LIE, 0.094],
  [0.074, LIE, 0.118],
  [0.032, LIE, 0.121],
  [-0.008, LIE, 0.109],
  [-0.04, LIE, 0.104],
  [-0.062, 0.0055, 0.109],
  [-0.084, LIFT, 0.1145],
];

export interface Cord {
  readonly mesh: Mesh;
  /** Where the switch and the plug sit: their local +Y along the cord, their local +Z up. */
  readonly switchAt: Placement;
  readonly plugAt: Placement;
}

export function makeCord(): Cord {
  // The curve dips a hair before each rise; a cord cannot sink into the table.
  const path = curvePath(PATH, 0.0035).map(([x, y, z]): Vector => [x, Math.max(y, LIE), z]);
  const mesh = makeTube(path, {
    radiusM: CORD_RADIUS_M,
    around: 16,
    uv1: (turn, length) => [turn, -length / BRAID_REPEAT_M],
  });
  const lying = (from: Vector, to: Vector, origin: Vector): Placement => {
    const axis = add(to, from, -1);
    const placement = alongAxis(origin, [axis[0], 0, axis[2]]);
    return { x: cross2(placement.y), y: placement.y, z: [0, 1, 0], origin };
  };
  const middle: Vector = [PATH[8]![0], LIFT, (PATH[8]![2] + PATH[9]![2]) / 2];
  return {
    mesh,
    switchAt: lying(PATH[8]!, PATH[9]!, middle),
    plugAt: lying(PATH[16]!, PATH[17]!, PATH[17]!),
  };
}

/** The level axis to the right of a level direction, seen from above: y × up. */
function cross2(y: Vector): Vector {
  return [-y[2], 0, y[0]];
}
