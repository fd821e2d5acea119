import { linearToLab } from '../colour/lab.ts';
import { nameColour } from '../colour/name-colour.ts';
import { hexToLinear, type LinearRgb, linearToHex } from '../colour/srgb.ts';
import type { Piece } from '../product/survey.ts';
import { clusterColours } from './cluster-colours.ts';
import { clusterShapes } from './cluster-shapes.ts';
import { settleClusters } from './clusters.ts';
import type { PieceGroup } from './repair.ts';
import { stemOf } from './stem-of.ts';

/**
 * Proposes how the pieces of one material become slots: on a baked atlas by the colours under their UVs, else by names,
 * shapes and sizes. Largest area first, at most twelve; empty where all would be one group. Pieces without a colour among
 * coloured ones are in no group, and so stay with the material.
 * @param taken names the groups may not have: those of the model's other materials, and of groups proposed before
 */
export function planSeparation(
  pieces: readonly Piece[],
  material: number | null,
  taken: Iterable<string> = [],
): PieceGroup[] {
  const own = pieces.filter((piece) => piece.material === material);
  const coloured = own.filter(({ hex }) => hex !== null);
  const clusters = settleClusters(coloured.length > 0 ? clusterColours(coloured) : clusterShapes(own));
  if (clusters.length < 2) return [];
  const groups = clusters.map((cluster) => {
    const hex = findMean(cluster.pieces);
    return { pieces: cluster.pieces, hex, stem: findStem(cluster.pieces) };
  });
  const used = new Set([...taken].map((name) => name.trim().toLowerCase()));
  return groups.map(({ pieces, hex, stem }, index) => {
    const shared = stem !== '' && groups.filter((other) => other.stem === stem).length > 1;
    const colour = hex === null ? '' : nameColour(linearToLab(hexToLinear(hex)));
    const name = number((stem !== '' && !shared ? stem : colour) || `part ${index + 1}`, used);
    return {
      name,
      pieces: pieces.map(({ piece }) => piece),
      shapes: [...new Set(pieces.map(({ shape }) => shape))],
      ...(hex === null ? {} : { hex }),
    };
  });
}

/** A frame of legs and slats is not called “slat” though most of it is slats. */
const NAMING_SHARE = 0.75;

/** The kind of part that nearly all of the area is of, by the names of nodes; empty when there is none. */
function findStem(pieces: readonly Piece[]): string {
  const areas = new Map<string, number>();
  let total = 0;
  for (const { nodes, areaM2 } of pieces) {
    const stem = stemOf(nodes[0]);
    areas.set(stem, (areas.get(stem) ?? 0) + areaM2);
    total += areaM2;
  }
  return [...areas].find(([, area]) => area > total * NAMING_SHARE)?.[0] ?? '';
}

/** Mean colour in linear light, weighted by area; null without colours. */
function findMean(pieces: readonly Piece[]): string | null {
  const sum: [number, number, number] = [0, 0, 0];
  let weight = 0;
  for (const { hex, areaM2 } of pieces) {
    if (hex === null) continue;
    hexToLinear(hex).forEach((value, channel) => {
      sum[channel] = sum[channel]! + value * areaM2;
    });
    weight += areaM2;
  }
  if (weight > 0) return linearToHex(sum.map((value) => value / weight) as unknown as LinearRgb);
  return pieces.find(({ hex }) => hex !== null)?.hex ?? null;
}

function number(name: string, used: Set<string>): string {
  let free = name;
  for (let count = 2; used.has(free); count++) free = `${name} ${count}`;
  used.add(free);
  return free;
}
