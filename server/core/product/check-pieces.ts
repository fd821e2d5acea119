import { planSeparation } from '../repair/plan-separation.ts';
import type { PieceGroup } from '../repair/repair.ts';
import { REPAIR_LIMITS } from '../repair/repair-limits.ts';
import { type Finding, makeFinding } from './finding.ts';
import { FEW_PIECES, ONE_MATERIAL_SHARE } from './may-need-separation.ts';
import { labelOf, type ModelFacts, placeOf, pointerOf } from './model-facts.ts';
import { count, listNames, sayShare } from './say.ts';
import type { Piece, Survey } from './survey.ts';

/**
 * One material over pieces that may change separately: then the model has one slot, however many parts it has. The groups
 * are a proposal by shape and colour. Once pieces of that material were separated, what is left together was meant to be.
 */
export function checkPieces({ survey, pieces, open, refer, origin }: ModelFacts): Finding[] {
  if (!pieces || pieces.length <= FEW_PIECES) return [];
  if (wasSeparated(origin)) return [];
  const area = new Map<number | null, number>();
  for (const piece of pieces) area.set(piece.material, (area.get(piece.material) ?? 0) + piece.areaM2);
  const total = [...area.values()].reduce((sum, one) => sum + one, 0);
  const material = open.find(({ index }) => (area.get(index) ?? 0) >= total * ONE_MATERIAL_SHARE && total > 0);
  const own = pieces.filter((piece) => piece.material === material?.index);
  if (!material || own.length <= FEW_PIECES) return [];
  const groups = nameApart(recallSeparation(pieces, material.index), survey);
  if (groups.length < 2) return [];
  const colour = survey.materials[material.index]!.maps.length > 0 ? ' and by the colours under them' : '';
  const tooMany = groups.length > REPAIR_LIMITS.groups;
  return [
    makeFinding('one-material-many-pieces', {
      where: pointerOf(material),
      place: placeOf(material),
      message: `${labelOf(material)} lies over ${sayShare(area.get(material.index)! / total)} of the surface and ${count(own.length, 'piece')}, so all of it changes finish together. By shape${colour} the pieces fall into ${count(groups.length, 'group')}: ${listNames(groups.map(({ name }) => name))}. ${tooMany ? 'That is more than one repair takes: pick the pieces of each part by hand.' : 'Separate them, or pick the pieces by hand.'}`,
      seen: { pieces: own.length, share: area.get(material.index)! / total },
      expected: 'a material for every part that changes by itself',
      ...(tooMany ? {} : { repairs: [{ repair: 'separate-pieces', material: refer(material), groups }] }),
    }),
  ];
}

/** Grouping thousands of pieces takes a while, and readiness is asked for at every turn: the same list is grouped once. */
const separations = new WeakMap<readonly Piece[], { readonly material: number; readonly groups: PieceGroup[] }>();

function recallSeparation(pieces: readonly Piece[], material: number): PieceGroup[] {
  const known = separations.get(pieces);
  if (known?.material === material) return known.groups;
  const groups = planSeparation(pieces, material);
  separations.set(pieces, { material, groups });
  return groups;
}

function wasSeparated(origin: ModelFacts['origin']): boolean {
  if (origin?.kind !== 'repaired') return false;
  const failed = origin.reports.some(
    ({ repair, outcome }) => repair.repair === 'separate-pieces' && outcome === 'unfit',
  );
  return !failed && origin.preparation.some(({ repair }) => repair === 'separate-pieces');
}

/** Groups by names that no material of the model has yet, so that each becomes a slot of its own. */
function nameApart(groups: readonly PieceGroup[], { materials }: Survey): PieceGroup[] {
  const taken = new Set(materials.map(({ name }) => name.toLowerCase()));
  return groups.map((group) => {
    let name = group.name;
    for (let n = 2; taken.has(name.toLowerCase()); n++) name = `${group.name} ${n}`;
    taken.add(name.toLowerCase());
    return { ...group, name };
  });
}
