import type { Piece } from '../product/survey.ts';

/** Pieces that belong together, and where they stand among the others: in Lab, or by size. */
export interface Cluster {
  readonly pieces: readonly Piece[];
  readonly areaM2: number;
  /** Area-weighted mean; distances between clusters are Euclidean. */
  readonly at: readonly number[];
}

export function joinClusters(a: Cluster, b: Cluster): Cluster {
  // pieces without area still have to stand somewhere
  const [weightA, weightB] = [a.areaM2 + Number.MIN_VALUE, b.areaM2 + Number.MIN_VALUE];
  return {
    pieces: [...a.pieces, ...b.pieces],
    areaM2: a.areaM2 + b.areaM2,
    at: a.at.map((value, axis) => value + ((b.at[axis]! - value) * weightB) / (weightA + weightB)),
  };
}

export function distance(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let axis = 0; axis < a.length; axis++) sum += (a[axis]! - b[axis]!) ** 2;
  return Math.sqrt(sum);
}

/** Below this share of the area a cluster of few pieces is a stray: a label, a seam, one darker slat. */
const STRAY_SHARE = 0.005;
/** A hundred screws are small too, and yet a part of their own. */
const STRAY_PIECES = 4;
/** More slots than this nobody assigns finishes to one by one. */
export const CLUSTER_LIMIT = 12;

/** Lets strays join the nearest cluster, and then the smallest ones until few enough are left; largest area first. */
export function settleClusters(clusters: readonly Cluster[]): Cluster[] {
  const total = clusters.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const isStray = ({ areaM2, pieces }: Cluster) => areaM2 < STRAY_SHARE * total && pieces.length <= STRAY_PIECES;
  let settled = [...clusters].sort(byArea);
  while (settled.length > 1) {
    const over = settled.length > CLUSTER_LIMIT;
    const small = settled.findLast((cluster) => over || isStray(cluster));
    if (!small) break;
    const others = settled.filter((cluster) => cluster !== small);
    const nearest = others.reduce((best, other) =>
      distance(other.at, small.at) < distance(best.at, small.at) ? other : best,
    );
    settled = others.map((cluster) => (cluster === nearest ? joinClusters(cluster, small) : cluster)).sort(byArea);
  }
  return settled;
}

function byArea(a: Cluster, b: Cluster): number {
  return b.areaM2 - a.areaM2 || (a.pieces[0]!.piece < b.pieces[0]!.piece ? -1 : 1);
}
