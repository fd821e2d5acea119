import { hexToLab } from '../colour/lab.ts';
import type { Piece } from '../product/survey.ts';
import { sortParts } from './part-names.ts';

/** Pieces that belong together, and their position among the others: in Lab, or by size. */
export interface Cluster {
  readonly pieces: readonly Piece[];
  readonly areaM2: number;
  /** Area-weighted mean; distances between clusters are Euclidean. */
  readonly at: readonly number[];
}

function joinClusters(a: Cluster, b: Cluster): Cluster {
  // pieces without area still need a position
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

/** A cluster of few pieces below this share of the area is a stray: a label, a seam, one darker slat. */
const STRAY_SHARE = 0.005;
/** A cluster with more pieces than this is a part of its own: a hundred screws are small too. */
const STRAY_PIECES = 4;
/** Nobody assigns finishes to more slots than this one by one. */
const CLUSTER_LIMIT = 12;

/**
 * Joins strays to the nearest cluster, and then the smallest clusters until few enough are left; largest area first.
 */
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

/**
 * ΔE*ab up to which two colours of a baked atlas count as one material. Grain and baked shade stay within it; different
 * materials do not.
 */
export const SAME_COLOUR = 12;
/** Shades within this distance are joined first, so that the later steps are quick with any number of pieces. */
const SAME_SHADE = 3;
/** A baked map with more shades than this is a photograph; further pieces join the nearest. */
const SHADE_LIMIT = 300;

/**
 * Clusters pieces by the colour under their UVs, in two passes. First every piece, largest first, joins the nearest
 * leader within `SAME_SHADE`, or becomes one. Then the two nearest clusters are joined, with means weighted by area,
 * until no two are within `SAME_COLOUR`.
 * Leaders alone are not enough: a leader at the edge of a material's colours would split it. Distances are between
 * means, not nearest members: a chain of shades would join distant colours.
 */
export function clusterColours(pieces: readonly Piece[]): Cluster[] {
  return joinNearest(findShades(pieces));
}

function findShades(pieces: readonly Piece[]): Cluster[] {
  const labs = new Map<string, readonly number[]>();
  const leaders: { lab: readonly number[]; pieces: Piece[]; areaM2: number; at: number[] }[] = [];
  const largestFirst = [...pieces].sort((a, b) => b.areaM2 - a.areaM2 || (a.piece < b.piece ? -1 : 1));
  for (const piece of largestFirst) {
    const hex = piece.hex!;
    const lab = labs.get(hex) ?? hexToLab(hex);
    labs.set(hex, lab);
    let nearest = leaders[0];
    for (const leader of leaders) if (distance(leader.lab, lab) < distance(nearest!.lab, lab)) nearest = leader;
    if (!nearest || (distance(nearest.lab, lab) > SAME_SHADE && leaders.length < SHADE_LIMIT)) {
      leaders.push({ lab, pieces: [piece], areaM2: piece.areaM2, at: [...lab] });
      continue;
    }
    const share = piece.areaM2 / (nearest.areaM2 + piece.areaM2 || 1);
    nearest.at = nearest.at.map((value, axis) => value + (lab[axis]! - value) * share);
    nearest.pieces.push(piece);
    nearest.areaM2 += piece.areaM2;
  }
  return leaders;
}

function joinNearest(start: readonly Cluster[]): Cluster[] {
  const clusters = [...start];
  for (;;) {
    let nearest = { first: -1, second: -1, far: SAME_COLOUR };
    for (let first = 0; first < clusters.length; first++) {
      for (let second = first + 1; second < clusters.length; second++) {
        const far = distance(clusters[first]!.at, clusters[second]!.at);
        if (far < nearest.far) nearest = { first, second, far };
      }
    }
    if (nearest.first === -1) return clusters;
    clusters[nearest.first] = joinClusters(clusters[nearest.first]!, clusters[nearest.second]!);
    clusters.splice(nearest.second, 1);
  }
}

/** Groups congruent pieces, and single ones by size, in classes of a factor of four. */
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

/** Whether pieces with copies make up most of the surface: then shapes tell parts apart, not only sizes. */
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

/** Joins in pairs, so that many copies do not copy one list again and again. */
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

/** Pieces of one kind of part. */
export interface PartGroup {
  /** Null where the file has no meaningful name. */
  readonly name: string | null;
  /** Names of these parts in the file; empty without a meaningful name. */
  readonly parts: readonly string[];
  readonly pieces: readonly Piece[];
}

/** Nobody assigns finishes to more parts than this; the smallest stay together. Judgement. */
const PART_LIMIT = 24;

/**
 * Groups pieces by the parts that the file itself names: by the names of its nodes and meshes, largest area first.
 * Pieces of unnamed parts are in no group. Where no two names tell parts apart, it groups by mesh, as long as there are
 * few meshes. Empty where the file does not tell parts apart.
 */
export function groupByParts(pieces: readonly Piece[]): PartGroup[] {
  const named = sortParts(pieces.flatMap(({ part }) => part ?? []));
  if (named.length > 1) {
    const groups = new Map(named.map((kind) => [kind, [] as Piece[]]));
    const kinds = new Map(named.flatMap((kind) => kind.parts.map((part) => [part, kind])));
    for (const piece of pieces) if (piece.part !== null) groups.get(kinds.get(piece.part)!)!.push(piece);
    return sortByArea([...groups].map(([{ name, parts }, own]) => ({ name, parts, pieces: own }))).slice(0, PART_LIMIT);
  }
  const meshes = new Map<number, Piece[]>();
  for (const piece of pieces) {
    const mesh = piece.primitives[0]?.mesh ?? -1;
    const own = meshes.get(mesh);
    if (own) own.push(piece);
    else meshes.set(mesh, [piece]);
    if (meshes.size > CLUSTER_LIMIT) return [];
  }
  if (meshes.size < 2) return [];
  return sortByArea([...meshes.values()].map((own) => ({ name: null, parts: [], pieces: own })));
}

function sortByArea(groups: readonly PartGroup[]): PartGroup[] {
  const areaOf = ({ pieces }: PartGroup) => pieces.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  return groups
    .map((group) => ({ group, area: areaOf(group) }))
    .sort((a, b) => b.area - a.area || (a.group.pieces[0]!.piece < b.group.pieces[0]!.piece ? -1 : 1))
    .map(({ group }) => group);
}
