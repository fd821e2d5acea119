import type { Piece, Survey } from '../../../../server/core/product/survey.ts';
import type { RepairOf } from '../../../../server/core/repair/repair.ts';

/** Pieces of one material that are congruent: four legs, twelve screws. */
export interface AlikePieces {
  readonly key: string;
  readonly material: number | null;
  readonly pieces: readonly Piece[];
  /** Of all of them together. */
  readonly areaM2: number;
  readonly triangles: number;
  /** Different ones, the first three. */
  readonly nodes: readonly string[];
  /** Different ones, the first three. */
  readonly colours: readonly string[];
}

/** Groups pieces by material and shape, the largest area first. */
export function groupAlike(pieces: readonly Piece[]): AlikePieces[] {
  const groups = new Map<string, Piece[]>();
  for (const piece of pieces) {
    const key = `${piece.material} ${piece.shape}`;
    const group = groups.get(key);
    if (group) group.push(piece);
    else groups.set(key, [piece]);
  }
  for (const group of groups.values()) group.sort(byName);
  return [...groups]
    .map(([key, group]) => ({
      key,
      material: group[0]!.material,
      pieces: group,
      areaM2: group.reduce((sum, { areaM2 }) => sum + areaM2, 0),
      triangles: group.reduce((sum, { triangles }) => sum + triangles, 0),
      nodes: listDifferent(
        group.flatMap(({ nodes }) => nodes),
        3,
      ),
      colours: listDifferent(
        group.flatMap(({ hex }) => hex ?? []),
        6,
      ),
    }))
    .sort((a, b) => b.areaM2 - a.areaM2);
}

/** As people number parts: leg 2 before leg 10. */
const { compare } = new Intl.Collator('en', { numeric: true });
const byName = (a: Piece, b: Piece) => compare(a.nodes[0] ?? '', b.nodes[0] ?? '');

function listDifferent(words: readonly string[], atMost: number): string[] {
  return [...new Set(words)].slice(0, atMost);
}

/** Those with every word of the text in a node's name, the material's name or a colour. */
export function filterAlike(groups: readonly AlikePieces[], text: string, survey: Survey): AlikePieces[] {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length === 0) return [...groups];
  return groups.filter(({ pieces, material, colours }) => {
    const nodes = pieces.flatMap((piece) => piece.nodes);
    const told = [...nodes, nameMaterial(material, survey), ...colours].join('\n').toLowerCase();
    return words.every((word) => told.includes(word));
  });
}

export function nameMaterial(material: number | null, survey: Survey): string {
  if (material === null) return 'no material';
  return survey.materials[material]?.name || `material ${material}`;
}

/**
 * The repairs that make a slot of these pieces: one for each material they have now. Pieces without a material are left
 * out, since there is none to take them from.
 */
export function planSeparations(
  pieces: readonly Piece[],
  ticked: ReadonlySet<string>,
  name: string,
  survey: Survey,
): RepairOf<'separate-pieces'>[] {
  const byMaterial = new Map<number, Set<string>>();
  for (const { piece, material } of pieces) {
    if (material === null || !ticked.has(piece)) continue;
    const ids = byMaterial.get(material) ?? new Set();
    byMaterial.set(material, ids.add(piece));
  }
  return [...byMaterial].map(([material, ids]) => ({
    repair: 'separate-pieces',
    material: referTo(material, survey),
    groups: [{ name, pieces: [...ids] }],
  }));
}

/** A material by its name, or by its pointer where the name does not tell it from others. */
function referTo(material: number, { materials }: Survey): string {
  const name = materials[material]?.name ?? '';
  const alike = materials.filter((other) => other.name === name).length;
  return name !== '' && alike === 1 && !name.startsWith('/') ? name : `/materials/${material}`;
}

/** Ticks or unticks pieces. */
export function tickPieces(ticked: ReadonlySet<string>, pieces: readonly Piece[], on: boolean): Set<string> {
  const next = new Set(ticked);
  for (const { piece } of pieces) {
    if (on) next.add(piece);
    else next.delete(piece);
  }
  return next;
}
