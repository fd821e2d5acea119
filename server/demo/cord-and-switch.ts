import { type Corner, roundProfile, turnProfile } from './geometry/lathe.ts';
import {
  add,
  alongAxis,
  cross,
  gridIndices,
  type Mesh,
  mergeMeshes,
  moveMesh,
  type Placement,
  placeMesh,
  type Vector,
} from './geometry/mesh.ts';
import { curvePath, makeTube } from './geometry/tube.ts';
import { encodeLinearMap, encodeNormalMap, smoothstep } from './textures/field.ts';
import { makeBraidRelief } from './textures/textiles.ts';
import type { PartMaps } from './write-model.ts';

/** Rubber sleeve around the cord's entry; it tapers away from the body; mm along the cord. */
const SLEEVE: readonly Corner[] = [
  [5.4, 0],
  [5.2, 3, 1],
  [4.4, 8, 4],
  [4, 14, 0.8],
  [3, 14],
];

/** Round plug for a two-pin outlet, not the standard of any country; mm along the cord. */
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

/** A textile cable of 6.4 mm. */
const CORD_RADIUS_M = 0.0032;
/**
 * One repeat of the braid map: one turn of the sleeve, and about the same length along it, so that strands run at 45°.
 */
const BRAID_REPEAT_M = 0.0201;

/** Height of the cord's axis inside the switch and the plug. */
const FITTING_AXIS_M = 0.0095;

const LIE = CORD_RADIUS_M;
const LIFT = FITTING_AXIS_M;

/** The path leaves the back of the base, goes round its right side to the switch, and on to the plug in front. */
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
  /** Placement of the switch and the plug: their local +Y along the cord, their local +Z up. */
  readonly switchAt: Placement;
  readonly plugAt: Placement;
}

export function makeCord(): Cord {
  // The curve dips slightly before each rise; the cord must not sink into the table.
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

/** The horizontal axis to the right of a horizontal direction, seen from above: y × up. */
function cross2(y: Vector): Vector {
  return [-y[2], 0, y[0]];
}

/** Segments of the rounding on each edge of a face. */
const EDGE_SEGMENTS = 4;

/** A box with every edge rounded, around its centre; sizes in metres. Each face is flat in `uv0`. */
function makeRoundedBox(size: Vector, filletM: number): Mesh {
  const faces: (readonly [Vector, Vector])[] = [
    [
      [1, 0, 0],
      [0, 1, 0],
    ],
    [
      [-1, 0, 0],
      [0, 1, 0],
    ],
    [
      [0, 0, -1],
      [0, 1, 0],
    ],
    [
      [0, 0, 1],
      [0, 1, 0],
    ],
    [
      [1, 0, 0],
      [0, 0, -1],
    ],
    [
      [1, 0, 0],
      [0, 0, 1],
    ],
  ];
  return mergeMeshes(faces.map(([across, up]) => makeFace(size, filletM, across, up)));
}

function makeFace(size: Vector, fillet: number, across: Vector, up: Vector): Mesh {
  const out = cross(across, up);
  const half = (axis: Vector): number => Math.abs(axis[0] * size[0] + axis[1] * size[1] + axis[2] * size[2]) / 2;
  const [a, b, c] = [half(across), half(up), half(out)];
  const ticks = (extent: number): (readonly [core: number, tilt: number])[] => {
    // Angles up to 45° on each side: the neighbouring face continues from there with the same normal.
    const list: (readonly [number, number])[] = [];
    for (let k = EDGE_SEGMENTS; k >= 0; k--)
      list.push([-(extent - fillet), -Math.tan((k / EDGE_SEGMENTS) * (Math.PI / 4))]);
    for (let k = 0; k <= EDGE_SEGMENTS; k++)
      list.push([extent - fillet, Math.tan((k / EDGE_SEGMENTS) * (Math.PI / 4))]);
    return list;
  };
  const columns = ticks(a);
  const rows = ticks(b);
  const positions: number[] = [];
  const normals: number[] = [];
  const uv0: number[] = [];
  const uv1: number[] = [];
  for (const [coreB, tiltB] of rows) {
    for (const [coreA, tiltA] of columns) {
      const l = Math.hypot(tiltA, tiltB, 1);
      const point = [coreA + (fillet * tiltA) / l, coreB + (fillet * tiltB) / l, c - fillet + fillet / l] as const;
      for (let k = 0; k < 3; k++) {
        positions.push(across[k]! * point[0] + up[k]! * point[1] + out[k]! * point[2]);
        normals.push((across[k]! * tiltA + up[k]! * tiltB + out[k]!) / l);
      }
      uv0.push(point[0], -point[1]);
      uv1.push(0.5, 0.5);
    }
  }
  return {
    positions: new Float32Array(positions),
    normals: new Float32Array(normals),
    uv0: new Float32Array(uv0),
    uv1: new Float32Array(uv1),
    indices: gridIndices(columns.length - 1, rows.length - 1),
  };
}

/** Strands of each slant around the cord: with 8, a strand is 2.5 mm wide and visible in a full-frame picture. */
const STRANDS = 8;

export async function makeBraidMaps(): Promise<PartMaps> {
  const size = 256;
  const relief = makeBraidRelief({ widthPx: size, heightPx: size, strands: STRANDS, reliefMm: 0.55 });
  const around = 2 * Math.PI * CORD_RADIUS_M * 1000;
  const [normal, occlusion] = await Promise.all([
    encodeNormalMap(relief, { x: around / size, y: (BRAID_REPEAT_M * 1000) / size }),
    encodeLinearMap({ ...relief, values: relief.values.map((v) => 0.35 + 0.65 * smoothstep(0.28, 0.55, v)) }),
  ]);
  return { normal, occlusion };
}
