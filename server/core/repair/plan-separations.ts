import { NAME_LENGTH } from '../codes.ts';
import { linearToLab } from '../colour/lab.ts';
import { hexToLinear, type LinearRgb, linearToHex } from '../colour/srgb.ts';
import type { Piece } from '../product/survey.ts';
import { capitalise } from '../texts/format-text.ts';
import {
  areMostlyCopies,
  type Cluster,
  clusterColours,
  clusterShapes,
  groupByParts,
  type PartGroup,
  settleClusters,
} from './cluster-pieces.ts';
import { addShapes } from './match-pieces.ts';
import { nameColour } from './part-names.ts';
import type { PieceGroup } from './repair.ts';

/**
 * The property that tells pieces apart: `names` of the model's own parts, its `meshes` where names do not help, their
 * shapes, colours or sizes.
 */
export type SeparatedBy = 'names' | 'meshes' | 'shapes' | 'colours' | 'sizes';

export interface Separation {
  readonly by: SeparatedBy;
  /** Two or more, largest area first. Pieces in no group stay with the material. */
  readonly groups: readonly PieceGroup[];
}

/**
 * Ways to make slots of the pieces of one material, the most reliable first: by the model's own parts; by shape, if
 * pieces with copies make up most of the surface; by the colours under their UVs; by size where nothing else tells them
 * apart. Empty where size does not either.
 * @param taken names the groups must not have: those of the model's materials
 */
export function planSeparations(
  pieces: readonly Piece[],
  material: number | null,
  taken: Iterable<string> = [],
): Separation[] {
  const own = pieces.filter((piece) => piece.material === material);
  const free = new Set([...taken].map((name) => name.trim().toLowerCase()));
  const coloured = own.filter(({ hex }) => hex !== null);
  const ways = [
    ...separateParts(groupByParts(own), free),
    ...(areMostlyCopies(own) ? separateClusters('shapes', clusterShapes(own), free) : []),
    ...separateClusters('colours', clusterColours(coloured), free),
  ];
  const all = ways.length > 0 ? ways : separateClusters('sizes', clusterShapes(own), free);
  return all.map(({ by, groups }) => ({ by, groups: addShapes(groups, own) }));
}

function separateParts(parts: readonly PartGroup[], taken: ReadonlySet<string>): Separation[] {
  if (parts.length < 2) return [];
  const used = new Set(taken);
  const groups = parts.map(({ name, parts, pieces }, index) => ({
    ...toGroup(number(name ?? `Part ${index + 1}`, used), pieces),
    ...(parts.length > 0 ? { parts } : {}),
  }));
  return [{ by: parts[0]!.name === null ? 'meshes' : 'names', groups }];
}

function separateClusters(by: SeparatedBy, clusters: readonly Cluster[], taken: ReadonlySet<string>): Separation[] {
  const settled = settleClusters(clusters);
  if (settled.length < 2) return [];
  const used = new Set(taken);
  const groups = settled.map(({ pieces }, index) => {
    const hex = by === 'colours' ? findMean(pieces) : null;
    const name = hex === null ? `Part ${index + 1}` : capitalise(nameColour(linearToLab(hexToLinear(hex))));
    return { ...toGroup(number(name, used), pieces), ...(hex === null ? {} : { hex }) };
  });
  return [{ by, groups }];
}

function toGroup(name: string, pieces: readonly Piece[]): PieceGroup {
  return { name, pieces: pieces.map(({ piece }) => piece) };
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

/** Characters left for a number after a name. */
const NUMBER_ROOM = 6;

/** An unused name, ignoring case, as slots are told apart. It cuts a name that is too long for a slot. */
function number(name: string, used: Set<string>): string {
  const stem = [...name]
    .slice(0, NAME_LENGTH.max - NUMBER_ROOM)
    .join('')
    .trim();
  let free = stem;
  for (let count = 2; used.has(free.toLowerCase()); count++) free = `${stem} ${count}`;
  used.add(free.toLowerCase());
  return free;
}
