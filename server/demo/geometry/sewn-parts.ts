import { makeRandom } from '../textures/field.ts';
import { type Corner, type ProfilePoint, roundProfile, turnProfile } from './lathe.ts';
import { type Mesh, makeSheet, mergeMeshes, type Vector } from './mesh.ts';

/** A round boxed cushion: a crowned top that a button pulls down, a band, an underside. Sizes in mm. */
interface CushionShape {
  /** Radius at the two seams, and the bulge of the band between them. */
  readonly seamRadiusMm: number;
  readonly swellMm: number;
  readonly lowerSeamMm: number;
  readonly upperSeamMm: number;
  /** Highest point of the top. */
  readonly crownMm: number;
  /** Depth of the button below the top around it. */
  readonly tuftMm: number;
}

const TOP_ROWS = 44;
const BAND_ROWS = 16;
const AROUND = 240;
/** Creases that radiate from the button, where the cloth gathers. */
const CREASES = 9;

interface Cushion {
  readonly mesh: Mesh;
  /** Mean profile from the underside to the centre of the top; `uv1` of the mesh runs along it. */
  readonly profile: readonly ProfilePoint[];
  /** Height of the top in metres at a distance from the centre, without creases. */
  readonly heightAt: (radiusM: number) => number;
}

export function makeCushion(shape: CushionShape): Cushion {
  const { seamRadiusMm, swellMm, lowerSeamMm, upperSeamMm, crownMm, tuftMm } = shape;
  const raw = (r: number): number => {
    const part = r / seamRadiusMm;
    const dome = 1 - 0.55 * part ** 3 - 0.45 * part ** 12;
    return dome - (tuftMm / (crownMm - upperSeamMm)) * Math.exp(-((r / 27) ** 1.55));
  };
  let most = 0;
  for (let r = 0; r < seamRadiusMm; r += 0.5) most = Math.max(most, raw(r));
  const topMm = (r: number): number => upperSeamMm + (raw(r) / most) * (crownMm - upperSeamMm);
  // Rows are denser at the button and the seam, where the top bends most.
  const topRadius = (j: number): number => {
    const t = 1 - j / TOP_ROWS;
    return seamRadiusMm * (t + 0.1 * Math.sin(2 * Math.PI * t));
  };
  const bandRadius = (j: number): number => seamRadiusMm + swellMm * Math.sin((Math.PI * j) / BAND_ROWS) ** 0.75;
  const bandHeight = (j: number): number => lowerSeamMm + ((upperSeamMm - lowerSeamMm) * j) / BAND_ROWS;

  const under = [0, 0.5, 0.9, 1].map((part) => [seamRadiusMm * part, lowerSeamMm] as const);
  const band = Array.from({ length: BAND_ROWS }, (_, j) => [bandRadius(j + 1), bandHeight(j + 1)] as const);
  const top = Array.from({ length: TOP_ROWS }, (_, j) => [topRadius(j + 1), topMm(topRadius(j + 1))] as const);
  const profile = roundProfile([...under, ...band, ...top]);
  const total = profile[profile.length - 1]!.s;
  const along = (index: number): number => profile[index]!.s / total;
  const bandFrom = under.length - 1;
  const topFrom = bandFrom + BAND_ROWS;

  const at = (i: number, rMm: number, yMm: number): Vector => {
    const angle = ((i % AROUND) / AROUND) * 2 * Math.PI;
    return [(-rMm * Math.sin(angle)) / 1000, yMm / 1000, (-rMm * Math.cos(angle)) / 1000];
  };
  const creased = (i: number, r: number): number => {
    const angle = (i / AROUND) * 2 * Math.PI;
    const wave = Math.cos(CREASES * angle + 0.5 * Math.sin(2 * angle) + 0.4);
    // narrow valleys between broad ridges, fading outwards; none rises above the crown
    const valley = -((0.5 - 0.5 * wave) ** 2.2);
    const near = Math.max(0, Math.min(1, (r - 10) / 16)) * Math.exp(-Math.max(0, r - 26) / 36);
    const slack = -0.7 * (1 + Math.sin(3 * angle + 1.1)) * (r / seamRadiusMm) ** 2 * (1 - (r / seamRadiusMm) ** 6);
    return topMm(r) + 5 * near * valley + slack;
  };
  /** Sewn cloth puckers: irregular folds that end a finger's width from the seam. */
  const pucker = (i: number, fromSeamMm: number): number => {
    const angle = (i / AROUND) * 2 * Math.PI;
    const wave =
      Math.sin(29 * angle + 1.7 * Math.sin(5 * angle)) + 0.6 * Math.sin(41 * angle + 2 * Math.sin(3 * angle));
    return 0.6 * wave * Math.exp(-fromSeamMm / 9) * Math.min(1, fromSeamMm / 3);
  };
  const fromSeam = (j: number): number => (Math.min(j, BAND_ROWS - j) / BAND_ROWS) * (upperSeamMm - lowerSeamMm);
  const bandTurn = (2 * Math.PI * (seamRadiusMm + swellMm / 2)) / 1000;
  const mesh = mergeMeshes([
    turnProfile(profile.slice(0, bandFrom + 1).map(lowered), { around: 96 }),
    makeSheet({
      columns: AROUND,
      rows: BAND_ROWS,
      closed: true,
      point: (i, j) => at(i, bandRadius(j) + pucker(i, fromSeam(j)), bandHeight(j)),
      uv0: (i, j) => [(i / AROUND - 0.5) * bandTurn, -profile[bandFrom + j]!.s],
      uv1: (i, j) => [i / AROUND, along(bandFrom + j)],
    }),
    makeSheet({
      columns: AROUND,
      rows: TOP_ROWS,
      closed: true,
      lastPole: [0, 1, 0],
      point: (i, j) => at(i, topRadius(j), creased(i, topRadius(j)) + pucker(i + 7, seamRadiusMm - topRadius(j))),
      uv0: (_i, _j, point) => [point[0], point[2]],
      uv1: (i, j) => [i / AROUND, along(topFrom + j)],
    }),
  ]);
  return { mesh, profile, heightAt: (radiusM) => topMm(radiusM * 1000) / 1000 };
}

/** The underside is flat up to its rim, where the mean profile already turns into the band. */
function lowered(point: ProfilePoint): ProfilePoint {
  return { ...point, nr: 0, ny: -1 };
}

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
/** Fullness of the folds at the lower rim: 1.3 m of cloth per metre of rim. */
const FULLNESS = 1.3;
const QUADS_PER_PLEAT = 12;
const ROWS = 18;
/** Liner and bindings have the same columns; otherwise they would intersect between them. */
const RIM_QUADS = 120;

/**
 * The outer cloth. The depth of the folds at each height keeps the cloth's length around constant, as in a real shade,
 * where a straight width is gathered more at the narrow rim. So U is true everywhere.
 */
export function makePleatedShade(shape: PleatedShadeShape): Mesh {
  const { lowerRadiusMm, upperRadiusMm, fromMm, toMm, pleats } = shape;
  const columns = pleats * QUADS_PER_PLEAT;
  const random = makeRandom(4601);
  // pleats are hand-made: no two have the same width or slant
  const jitter = Array.from({ length: pleats }, () => ({
    width: 1 + (random() - 0.5) * 0.16,
    lean: (random() - 0.5) * 0.5,
  }));
  const widths = jitter.reduce((sum, pleat) => sum + pleat.width, 0);
  const starts: number[] = [];
  let placed = 0;
  for (const pleat of jitter) {
    starts.push(placed / widths);
    placed += pleat.width;
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

/** Half the rows are in the first and last fifth, where the binding presses the folds. */
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
