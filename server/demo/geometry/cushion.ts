import { turnProfile } from './lathe.ts';
import { type Mesh, mergeMeshes, type Vector } from './mesh.ts';
import { type ProfilePoint, roundProfile } from './profile.ts';
import { makeSheet } from './sheet.ts';

/** A round boxed cushion: a crowned top drawn down by a button, a band, an underside. Sizes in mm. */
export interface CushionShape {
  /** Radius at the two seams, and how far the band swells between them. */
  readonly seamRadiusMm: number;
  readonly swellMm: number;
  readonly lowerSeamMm: number;
  readonly upperSeamMm: number;
  /** Highest point of the top. */
  readonly crownMm: number;
  /** How deep the button sits below the top round it. */
  readonly tuftMm: number;
}

const TOP_ROWS = 44;
const BAND_ROWS = 16;
const AROUND = 240;
/** Creases that run out from the button, as the cloth gathers there. */
const CREASES = 9;

export interface Cushion {
  readonly mesh: Mesh;
  /** Mean profile from underneath to the middle of the top; `uv1` of the mesh runs along it. */
  readonly profile: readonly ProfilePoint[];
  /** Height of the top in metres at a distance from the middle, without creases. */
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
  // Rows crowd towards the button and the seam, where the top bends most.
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
    // Narrow valleys between broad swells, fading outwards; nothing may rise above the crown.
    const valley = -((0.5 - 0.5 * wave) ** 2.2);
    const near = Math.max(0, Math.min(1, (r - 10) / 16)) * Math.exp(-Math.max(0, r - 26) / 36);
    const slack = -0.7 * (1 + Math.sin(3 * angle + 1.1)) * (r / seamRadiusMm) ** 2 * (1 - (r / seamRadiusMm) ** 6);
    return topMm(r) + 5 * near * valley + slack;
  };
  /** Cloth draws in where it is sewn: irregular puckers, gone a finger's width from the seam. */
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

/** The underside is level up to its rim, where the mean profile already turns into the band. */
function lowered(point: ProfilePoint): ProfilePoint {
  return { ...point, nr: 0, ny: -1 };
}
