import type { Piece, UvDensity } from '../../../core/product/survey.ts';
import type { PieceMeasures } from '../geometry/measure-pieces.ts';

/** Pieces whose metres per UV unit differ by at most this factor are one group: half of the visible difference in a weave. Judgement. */
const SAME = 1.02;
/** Most groups, and most pieces and nodes of each that are named: the largest. */
const GROUPS = 20;
const NAMED = 3;
/** Area in units². Smaller UV areas have no meaningful density. */
const LEAST_UV = 1e-12;

/** Groups the pieces of each material by the density of their UVs; pieces without UVs are left out. */
export function groupDensities(
  pieces: readonly Piece[],
  { mappedM2, uvArea }: Pick<PieceMeasures, 'mappedM2' | 'uvArea'>,
): Map<number | null, UvDensity[]> {
  const byMaterial = new Map<number | null, { piece: Piece; metresPerUv: number; areaM2: number }[]>();
  pieces.forEach((piece, index) => {
    if (!(uvArea[index]! > LEAST_UV)) return;
    const own = byMaterial.get(piece.material);
    const item = { piece, metresPerUv: Math.sqrt(mappedM2[index]! / uvArea[index]!), areaM2: mappedM2[index]! };
    if (own) own.push(item);
    else byMaterial.set(piece.material, [item]);
  });
  return new Map(
    [...byMaterial].map(([material, items]) => {
      items.sort((a, b) => a.metresPerUv - b.metresPerUv || (a.piece.piece < b.piece.piece ? -1 : 1));
      const groups: (typeof items)[] = [];
      for (const item of items) {
        const last = groups[groups.length - 1];
        if (last && item.metresPerUv <= last[0]!.metresPerUv * SAME) last.push(item);
        else groups.push([item]);
      }
      return [
        material,
        groups
          .map(toDensity)
          .sort((a, b) => b.areaM2 - a.areaM2)
          .slice(0, GROUPS),
      ];
    }),
  );
}

function toDensity(
  items: readonly { readonly piece: Piece; readonly metresPerUv: number; readonly areaM2: number }[],
): UvDensity {
  const areaM2 = items.reduce((sum, item) => sum + item.areaM2, 0);
  const largest = [...items].sort((a, b) => b.areaM2 - a.areaM2).slice(0, NAMED);
  return {
    metresPerUv: items.reduce((sum, item) => sum + item.metresPerUv * item.areaM2, 0) / areaM2,
    areaM2,
    count: items.length,
    pieces: largest.map(({ piece }) => piece.piece),
    nodes: [...new Set(largest.flatMap(({ piece }) => piece.nodes))].slice(0, NAMED),
  };
}
