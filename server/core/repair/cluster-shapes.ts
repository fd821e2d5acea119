import type { Piece } from '../product/survey.ts';
import { type Cluster, joinClusters } from './clusters.ts';

/** Congruent pieces together, and single ones by size, in classes of a factor of four. */
export function clusterShapes(pieces: readonly Piece[]): Cluster[] {
  const copies = countCopies(pieces);
  const clusters = new Map<string, Cluster[]>();
  for (const piece of pieces) {
    const size = Math.log2(Math.max(diagonal(piece), SMALLEST_M));
    const key = copies.get(piece.shape)! > 1 ? `shape ${piece.shape}` : `size ${Math.floor(size / 2)}`;
    const single = { pieces: [piece], areaM2: piece.areaM2, at: [size] };
    const cluster = clusters.get(key);
    if (cluster) cluster.push(single);
    else clusters.set(key, [single]);
  }
  return [...clusters.values()].map(joinAll);
}

/** Whether most of the surface is of pieces that have copies: then shapes tell parts apart, not sizes alone. */
export function areMostlyCopies(pieces: readonly Piece[]): boolean {
  const copies = countCopies(pieces);
  const sum = (some: readonly Piece[]) => some.reduce((area, { areaM2 }) => area + areaM2, 0);
  return sum(pieces.filter(({ shape }) => copies.get(shape)! > 1)) > sum(pieces) / 2;
}

function countCopies(pieces: readonly Piece[]): Map<string, number> {
  const copies = new Map<string, number>();
  for (const { shape } of pieces) copies.set(shape, (copies.get(shape) ?? 0) + 1);
  return copies;
}

/** A tenth of a millimetre; a piece without extent has no logarithm. */
const SMALLEST_M = 1e-4;

/** In pairs, so that joining many copies no list over and over. */
function joinAll(clusters: readonly Cluster[]): Cluster {
  let list = clusters;
  while (list.length > 1) {
    const half: Cluster[] = [];
    for (let i = 0; i < list.length; i += 2) half.push(list[i + 1] ? joinClusters(list[i]!, list[i + 1]!) : list[i]!);
    list = half;
  }
  return list[0]!;
}

function diagonal({ box }: Piece): number {
  return Math.hypot(...[0, 1, 2].map((axis) => box.max[axis]! - box.min[axis]!));
}
