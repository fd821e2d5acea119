import { hexToLab } from '../colour/delta-e-ab.ts';
import type { Piece } from '../product/survey.ts';
import { type Cluster, distance, joinClusters } from './clusters.ts';

/** ΔE*ab up to which two colours of a baked atlas count as one stuff: grain and baked shade stay within, stuffs do not. */
export const SAME_COLOUR = 12;
/** Shades this near are taken together first, so that what follows is quick whatever the number of pieces. */
const SAME_SHADE = 3;
/** A baked map of more shades than this is a photograph; further pieces join the nearest. */
const SHADE_LIMIT = 300;

/**
 * Clusters pieces by the colour under their UVs, in two passes. First every piece, largest first, joins the nearest
 * leader within `SAME_SHADE`, or leads. Then the two nearest clusters are joined, means weighted by area, until none are
 * within `SAME_COLOUR`. Joining from the bottom up rather than leaders alone: a leader at the rim of a stuff's colours
 * would cut it in two. Means rather than nearest members: a chain of shades would join what is far apart.
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
