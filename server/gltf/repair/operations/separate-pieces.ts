import type { Piece } from '../../../core/product/survey.ts';
import { type MatchedPieces, matchPieces } from '../../../core/repair/match-pieces.ts';
import type { PieceGroup } from '../../../core/repair/repair.ts';
import { REPAIR_LOSSES, REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { GltfJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listAnimatedMaterials } from '../../document/read-material.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { drawsTriangles } from '../../geometry/list-triangles.ts';
import { colourPieces } from '../../geometry/pieces/colour-pieces.ts';
import { type FoundPieces, findPieces } from '../../geometry/pieces/find-pieces.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { type Assignment, splitPrimitives } from '../edit/split-primitives.ts';
import { unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Outcome, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['separate-pieces'];

/**
 * Gives chosen pieces of a material their own materials, which are copies of it, and so their own slots. Triangles move to
 * other primitives; vertices are shared, and their bytes stay. If no piece stays with the material, the first group takes
 * the material over and renames it, so the settings of its slot stay with it.
 */
export const separatePieces: Repairer<'separate-pieces'> = {
  listLosses(edit, { material }) {
    const animated = listAnimatedMaterials(edit.json);
    const driven = edit.findMaterials(material).filter((index) => animated.has(index));
    return driven.length > 0 ? [REPAIR_LOSSES.pieceAnimation(edit.labelMaterials(driven)[0]!)] : [];
  },

  async apply(edit, repair) {
    const bases = edit.findMaterials(repair.material);
    if (bases.length === 0) return unfit(OUTCOMES.unknownMaterial(repair.material, edit.labelMaterials()));
    const material = edit.labelMaterials(bases)[0]!;
    const wrong = checkNames(edit.json, bases, repair.groups);
    if (wrong) return unfit(wrong);
    const model = await edit.decode();
    const found = findPieces(model, listSceneNodes(edit.json));
    const own = found.pieces.flatMap(({ material }, index) =>
      material !== null && bases.includes(material) ? index : [],
    );
    const matched = await match(model, found, own, repair.groups);
    if (matched.left === own.length) {
      return unfit(OUTCOMES.noneFound(own.length, material));
    }
    const places = new Int32Array(found.pieces.length).fill(-1);
    own.forEach((piece, index) => {
      places[piece] = matched.groups[index]!;
    });
    const plans = bases.map((base) => planBase(edit.json, base, repair.groups, found, places));
    if (plans.every(({ leaving, heir }) => leaving.length === 0 && heir === null)) {
      return nothingToDo(OUTCOMES.nothing(material));
    }
    await unpackGeometry(edit);
    const materials = new Map(bases.map((base, index) => [base, addMaterials(edit, plans[index]!, repair.groups)]));
    const copies = splitPrimitives(edit, listAssignments(edit.json, found, places, materials));
    return report(material, repair.groups, found.pieces, places, matched, copies);
  },
};

/** Reads colours only if they decide: for pieces that id, name and shape do not match. */
async function match(
  model: LoadedModel,
  found: FoundPieces,
  own: readonly number[],
  groups: readonly PieceGroup[],
): Promise<MatchedPieces> {
  const pieces = own.map((index) => found.pieces[index]!);
  const matched = matchPieces(pieces, groups);
  if (matched.left === 0 || groups.every(({ hex }) => hex === undefined)) return matched;
  const coloured = await colourPieces(model, found);
  return matchPieces(
    own.map((index) => coloured[index]!),
    groups,
  );
}

/** The fault in the names of groups, or null. They become names of materials, which distinguish slots. */
function checkNames(
  { materials = [] }: GltfJson,
  bases: readonly number[],
  groups: readonly PieceGroup[],
): string | null {
  const others = new Set(materials.flatMap(({ name }, index) => (bases.includes(index) || !name ? [] : [fold(name)])));
  const seen = new Set<string>();
  for (const [index, { name }] of groups.entries()) {
    if (fold(name) === '') return OUTCOMES.groupWithoutName(index + 1);
    if (seen.has(fold(name))) return OUTCOMES.groupTwice(name);
    if (others.has(fold(name))) return OUTCOMES.nameInUse(name);
    seen.add(fold(name));
  }
  return null;
}

const fold = (name: string) => name.trim().toLowerCase();

/** The groups that one base material is divided into. */
interface BasePlan {
  readonly base: number;
  /** Groups that get copies of it, in order. */
  readonly leaving: readonly number[];
  /** The group that takes it over, since no other piece stays with it. */
  readonly heir: number | null;
}

function planBase(
  json: GltfJson,
  base: number,
  groups: readonly PieceGroup[],
  { pieces, covers }: FoundPieces,
  places: Int32Array,
): BasePlan {
  const { name } = json.materials![base]!;
  const present = new Set<number>();
  pieces.forEach(({ material }, index) => {
    if (material === base) present.add(places[index]!);
  });
  // a group with the name of the material stays with it
  const own = groups.findIndex((group) => name !== undefined && fold(group.name) === fold(name));
  const others = [...present].filter((group) => group !== -1 && group !== own).sort((a, b) => a - b);
  const hasUnnamed = (covers.get(base)?.unnamed ?? 0) > 0;
  const stays = present.has(-1) || present.has(own) || hasUnnamed || drawsOtherwise(json, base);
  const heir = stays ? null : (others[0] ?? null);
  return { base, leaving: others.filter((group) => group !== heir), heir };
}

/** Whether points or lines use the material; they are not pieces. */
function drawsOtherwise({ meshes = [] }: GltfJson, base: number): boolean {
  return meshes.some(({ primitives }) => primitives.some((one) => one.material === base && !drawsTriangles(one)));
}

/** Adds materials for the groups that leave a base. Pieces in no group stay with the base. */
function addMaterials(
  edit: ModelEdit,
  { base, leaving, heir }: BasePlan,
  groups: readonly PieceGroup[],
): Map<number, number> {
  const source = edit.json.materials![base]!;
  const materials = new Map<number, number>();
  for (const group of leaving) {
    const copy = { ...structuredClone(source), name: groups[group]!.name.trim() };
    materials.set(group, edit.addMaterial(copy, base));
  }
  if (heir !== null) source.name = groups[heir]!.name.trim();
  return materials;
}

function listAssignments(
  { meshes }: GltfJson,
  { parts }: FoundPieces,
  places: Int32Array,
  materials: ReadonlyMap<number, ReadonlyMap<number, number>>,
): Assignment[] {
  return parts.flatMap(({ node, mesh, primitive, pieceOfTriangle }) => {
    const base = meshes![mesh]!.primitives[primitive]!.material;
    const byGroup = base === undefined ? undefined : materials.get(base);
    if (!byGroup) return [];
    const wanted = Int32Array.from(pieceOfTriangle, (piece) =>
      piece === -1 ? -1 : (byGroup.get(places[piece]!) ?? base!),
    );
    return [{ node, mesh, primitive, wanted }];
  });
}

function report(
  material: string,
  groups: readonly PieceGroup[],
  pieces: readonly Piece[],
  places: Int32Array,
  matched: MatchedPieces,
  meshesCopied: number,
): Outcome {
  const counts = groups.map(() => 0);
  let triangles = 0;
  pieces.forEach((piece, index) => {
    const group = places[index]!;
    if (group === -1) return;
    counts[group]!++;
    triangles += piece.triangles;
  });
  const { byId, byPart, byShape, byColour, left } = matched;
  const found = { byId, byPart, byShape, byColour, left };
  const made = groups.map(({ name }, index) => ({ name: name.trim(), pieces: counts[index]! }));
  return done(OUTCOMES.done({ ...found, material, groups: made }) + REPAIR_NOTES.copies(meshesCopied), {
    ...found,
    groups: counts.filter((pieces) => pieces > 0).length,
    triangles,
    meshesCopied,
  });
}
