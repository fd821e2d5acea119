import { makeRandom } from '../textures/noise.ts';
import { turnProfile } from './lathe.ts';
import { type Mesh, mergeMeshes } from './mesh.ts';
import { type Corner, roundProfile } from './profile.ts';
import { makeSheet } from './sheet.ts';

/** A tapered shade of pleated cloth, bound at both rims, with a liner inside. Sizes in mm. */
export interface PleatedShadeShape {
  readonly lowerRadiusMm: number;
  readonly upperRadiusMm: number;
  readonly fromMm: number;
  readonly toMm: number;
  readonly pleats: number;
}

/** Height and half thickness of the bias binding that holds the pleats at each rim. */
const BINDING_MM = { height: 9, half: 2.9 };
/** Cloth taken up by the folds at the lower rim: 1.3 lengths of cloth for one length of rim. */
const FULLNESS = 1.3;
const QUADS_PER_PLEAT = 12;
const ROWS = 18;
/** Liner and bindings share their columns, or they would cut through each other between them. */
const RIM_QUADS = 120;

/**
 * The outer cloth. The depth of the folds at each height is the one that keeps the cloth's length around constant,
 * as in a real shade, where a straight width is gathered more at the narrow rim: so U is true everywhere.
 */
export function makePleatedShade(shape: PleatedShadeShape): Mesh {
  const { lowerRadiusMm, upperRadiusMm, fromMm, toMm, pleats } = shape;
  const columns = pleats * QUADS_PER_PLEAT;
  const random = makeRandom(4601);
  // Hand-laid: no two pleats have quite the same width or stand.
  const jitter = Array.from({ length: pleats }, () => ({
    width: 1 + (random() - 0.5) * 0.16,
    lean: (random() - 0.5) * 0.5,
  }));
  const widths = jitter.reduce((sum, pleat) => sum + pleat.width, 0);
  const starts: number[] = [];
  let laid = 0;
  for (const pleat of jitter) {
    starts.push(laid / widths);
    laid += pleat.width;
  }
  const clothMm = 2 * Math.PI * lowerRadiusMm * FULLNESS;
  const fold = (phase: number): number => Math.asin(0.965 * Math.sin(phase)) / Math.asin(0.965);
  const point = (i: number, j: number): readonly [number, number, number] => {
    const pleat = Math.floor((i % columns) / QUADS_PER_PLEAT);
    const within = ((i % columns) - pleat * QUADS_PER_PLEAT) / QUADS_PER_PLEAT;
    const { width, lean } = jitter[pleat]!;
    const angle = 2 * Math.PI * (starts[pleat]! + (within * width) / widths);
    const up = riseAt(j / ROWS);
    const radius = lowerRadiusMm + (upperRadiusMm - lowerRadiusMm) * up;
    const ratio = clothMm / (2 * Math.PI * radius);
    const depth = ((2 * Math.PI * radius) / pleats / 4) * Math.sqrt(ratio * ratio - 1);
    // The binding presses the folds flat over the last few millimetres.
    const fromRim = Math.min(up, 1 - up) * (toMm - fromMm);
    const press = Math.min(1, 0.22 + (0.78 * Math.max(0, fromRim - 6)) / 13);
    const phase = within * 2 * Math.PI + lean * Math.sin(within * 2 * Math.PI) * 0.4;
    const r = (radius + fold(phase) * depth * (2 - width) * press) / 1000;
    return [-r * Math.sin(angle), (fromMm + (toMm - fromMm) * up) / 1000, -r * Math.cos(angle)];
  };
  const slant = Math.hypot(toMm - fromMm, lowerRadiusMm - upperRadiusMm) / 1000;
  const cloth = makeSheet({
    columns,
    rows: ROWS,
    closed: true,
    point,
    uv0: (i, j) => [(i / columns) * (clothMm / 1000), -riseAt(j / ROWS) * slant],
    uv1: (i, j) => [i / columns, riseAt(j / ROWS)],
  });
  return mergeMeshes([cloth, makeBinding(shape, 'lower'), makeBinding(shape, 'upper')]);
}

/** The smooth inside of the shade, facing the axis. */
export function makeShadeLiner(shape: PleatedShadeShape): Mesh {
  const inset = 4.6;
  const corners: Corner[] = [];
  for (let k = 12; k >= 0; k--) {
    const up = k / 12;
    corners.push([
      shape.lowerRadiusMm + (shape.upperRadiusMm - shape.lowerRadiusMm) * up - inset,
      shape.fromMm + (shape.toMm - shape.fromMm) * up,
    ]);
  }
  return turnProfile(roundProfile(corners), { around: RIM_QUADS, unroll: 1 });
}

/** Half the rows stand in the first and last fifth, where the folds are pressed. */
function riseAt(t: number): number {
  return t - 0.13 * Math.sin(2 * Math.PI * t);
}

function makeBinding(shape: PleatedShadeShape, rim: 'lower' | 'upper'): Mesh {
  const { height, half } = BINDING_MM;
  const slope = (shape.upperRadiusMm - shape.lowerRadiusMm) / (shape.toMm - shape.fromMm);
  const y = rim === 'lower' ? shape.fromMm : shape.toMm - height;
  const base = rim === 'lower' ? shape.lowerRadiusMm : shape.upperRadiusMm - slope * height;
  const inner = -4.9;
  const lean = slope * height;
  const corners: Corner[] = [
    [base + inner, y + 3],
    [base + inner, y, 1.9],
    [base + half, y, 1.9],
    [base + half + 0.5 + lean / 2, y + height / 2, 8],
    [base + half + lean, y + height, 1.9],
    [base + inner + lean, y + height, 1.9],
    [base + inner, y + 3],
  ];
  return turnProfile(roundProfile(corners), { around: RIM_QUADS });
}
