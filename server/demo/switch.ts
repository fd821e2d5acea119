import { FITTING_AXIS_M } from './cord.ts';
import { turnProfile } from './geometry/lathe.ts';
import type { Mesh, Placement } from './geometry/mesh.ts';
import { mergeMeshes, moveMesh, placeMesh } from './geometry/mesh.ts';
import type { Corner } from './geometry/profile.ts';
import { roundProfile } from './geometry/profile.ts';
import { makeRoundedBox } from './geometry/rounded-box.ts';

/** Rubber sleeve where the cord enters, tapering away from the body; mm along the cord. */
const SLEEVE: readonly Corner[] = [
  [5.4, 0],
  [5.2, 3, 1],
  [4.4, 8, 4],
  [4, 14, 0.8],
  [3, 14],
];

/** Round plug for a two-pin outlet, of no country in particular; mm along the cord. */
const PLUG: readonly Corner[] = [
  [3.4, -3],
  [4.6, -3, 0.8],
  [5.6, 6, 6],
  [9.4, 14, 5],
  [9.5, 33, 2.4],
  [0, 33],
];

const PIN: readonly Corner[] = [
  [0, 32],
  [1.9, 32],
  [1.9, 50, 1],
  [0, 50],
];

/** A rounded body with a rocker on top, on the cord; local +Y along the cord, +Z up, origin on the cord's axis. */
export function makeInlineSwitch(at: Placement): Mesh {
  const sleeve = turnProfile(roundProfile(SLEEVE), { around: 24 });
  const height = 2 * FITTING_AXIS_M;
  return placeMesh(
    mergeMeshes([
      makeRoundedBox([0.026, 0.058, height], 0.007),
      moveMesh(makeRoundedBox([0.013, 0.022, 0.006], 0.0018), [0, 0, height / 2 - 0.0006]),
      moveMesh(sleeve, [0, 0.028, 0]),
      placeMesh(sleeve, { x: [-1, 0, 0], y: [0, -1, 0], z: [0, 0, 1], origin: [0, -0.028, 0] }),
    ]),
    at,
  );
}

/** Local +Y from the cord's end to the pins. */
export function makePlug(at: Placement): Mesh {
  const pin = turnProfile(roundProfile(PIN), { around: 16 });
  return placeMesh(
    mergeMeshes([
      turnProfile(roundProfile(PLUG), { around: 40 }),
      moveMesh(pin, [0.0048, 0, 0]),
      moveMesh(pin, [-0.0048, 0, 0]),
    ]),
    at,
  );
}
