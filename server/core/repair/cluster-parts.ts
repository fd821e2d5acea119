import type { Piece } from '../product/survey.ts';
import { CLUSTER_LIMIT } from './clusters.ts';
import { sortParts } from './part-names.ts';

/** Pieces of one kind of part. */
export interface PartGroup {
  /** Null where the file has no name that tells. */
  readonly name: string | null;
  /** Names of these parts in the file; empty without a name that tells. */
  readonly parts: readonly string[];
  readonly pieces: readonly Piece[];
}

/** More parts than this nobody assigns finishes to; the smallest stay together. Judgement. */
const PART_LIMIT = 24;

/**
 * Groups pieces by the parts the file itself tells: by the names of its nodes and meshes, largest area first. Pieces of
 * unnamed parts are then in no group. Where no two names tell anything, by mesh, as long as meshes are few; empty where
 * the file does not tell parts apart.
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
