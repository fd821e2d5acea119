import type { Piece } from '../../../core/product/survey.ts';
import { type MatchedPieces, matchPieces } from '../../../core/repair/match-pieces.ts';
import type { PieceGroup } from '../../../core/repair/repair.ts';
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

/**
 * Gives chosen pieces of a material materials of their own, copies of it, and so slots of their own. Triangles only change
 * the primitive that lists them: vertices are shared, and their bytes stay. Where nothing stays with the material, the
 * first group takes it over under its own name, so that what was said of its slot stays with it.
 */
export const separatePieces: Repairer<'separate-pieces'> = {
  listLosses(edit, { material }) {
    const animated = listAnimatedMaterials(edit.json);
    const driven = edit.findMaterials(material).filter((index) => animated.has(index));
    return driven.length > 0 ? [`the animation of “${material}” on pieces that leave it`] : [];
  },

  async apply(edit, repair) {
    const bases = edit.findMaterials(repair.material);
    if (bases.length === 0) return unfit(`The model has no material “${repair.material}”.${tellMaterials(edit.json)}`);
    const wrong = checkNames(edit.json, bases, repair.groups);
    if (wrong) return unfit(wrong);
    const model = await edit.decode();
    const found = findPieces(model, listSceneNodes(edit.json));
    const own = found.pieces.flatMap(({ material }, index) =>
      material !== null && bases.includes(material) ? index : [],
    );
    const matched = await match(model, found, own, repair.groups);
    if (matched.left === own.length) {
      return unfit(
        `None of the pieces it names are among the ${own.length} of “${repair.material}”, by id, name, shape or colour. ` +
          'Choose the pieces again.',
      );
    }
    const places = new Int32Array(found.pieces.length).fill(-1);
    own.forEach((piece, index) => {
      places[piece] = matched.groups[index]!;
    });
    const plans = bases.map((base) => planBase(edit.json, base, repair.groups, found, places));
    if (plans.every(({ wearers, heir }) => wearers.length === 0 && heir === null)) {
      return nothingToDo(`All the pieces found stay with “${repair.material}”.`);
    }
    await unpackGeometry(edit);
    const materials = new Map(bases.map((base, index) => [base, addMaterials(edit, plans[index]!, repair.groups)]));
    const copies = splitPrimitives(edit, listAssignments(edit.json, found, places, materials));
    return report(repair, found.pieces, places, matched, copies);
  },
};

/** Colours are read only where they decide: for pieces that neither id, name nor shape places. */
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

function tellMaterials({ materials = [] }: GltfJson): string {
  const names = materials.slice(0, 12).map(({ name }, index) => (name ? `“${name}”` : `/materials/${index}`));
  return names.length === 0 ? '' : ` It has ${names.join(', ')}${materials.length > 12 ? ' and more' : ''}.`;
}

/** What is wrong with the groups' names, or null: each becomes the name of a material, by which slots are told apart. */
function checkNames(
  { materials = [] }: GltfJson,
  bases: readonly number[],
  groups: readonly PieceGroup[],
): string | null {
  const others = new Set(materials.flatMap(({ name }, index) => (bases.includes(index) || !name ? [] : [fold(name)])));
  const seen = new Set<string>();
  for (const [index, { name }] of groups.entries()) {
    if (fold(name) === '') return `Group ${index + 1} has no name. Name the slot its pieces become.`;
    if (seen.has(fold(name))) return `Two groups are called “${name}”. Give each its own name.`;
    if (others.has(fold(name))) return `The model has another material “${name}”. Choose another name for the group.`;
    seen.add(fold(name));
  }
  return null;
}

const fold = (name: string) => name.trim().toLowerCase();

/** What becomes of one base material. */
interface BasePlan {
  readonly base: number;
  /** Groups that leave it, in order. */
  readonly wearers: readonly number[];
  /** The group that takes it over, since nothing else stays with it. */
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
  // a group of the material's own name is what stays
  const own = groups.findIndex((group) => name !== undefined && fold(group.name) === fold(name));
  const leaving = [...present].filter((group) => group !== -1 && group !== own).sort((a, b) => a - b);
  const hasUnnamed = (covers.get(base)?.unnamed ?? 0) > 0;
  const stays = present.has(-1) || present.has(own) || hasUnnamed || drawsOtherwise(json, base);
  const heir = stays ? null : (leaving[0] ?? null);
  return { base, wearers: leaving.filter((group) => group !== heir), heir };
}

/** Whether points or lines wear it, which are no pieces. */
function drawsOtherwise({ meshes = [] }: GltfJson, base: number): boolean {
  return meshes.some(({ primitives }) => primitives.some((one) => one.material === base && !drawsTriangles(one)));
}

/** Adds the materials of the groups that leave a base; what is in no group wears the base. */
function addMaterials(
  edit: ModelEdit,
  { base, wearers, heir }: BasePlan,
  groups: readonly PieceGroup[],
): Map<number, number> {
  const source = edit.json.materials![base]!;
  const materials = new Map<number, number>();
  for (const group of wearers) {
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
  { material, groups }: { readonly material: string; readonly groups: readonly PieceGroup[] },
  pieces: readonly Piece[],
  places: Int32Array,
  { byId, byPart, byShape, byColour, left }: MatchedPieces,
  copies: number,
): Outcome {
  const counts = groups.map(() => 0);
  let triangles = 0;
  pieces.forEach((piece, index) => {
    const group = places[index]!;
    if (group === -1) return;
    counts[group]!++;
    triangles += piece.triangles;
  });
  const made = groups.flatMap(({ name }, index) => (counts[index]! > 0 ? [`“${name.trim()}” (${counts[index]})`] : []));
  const empty = groups.filter((_, index) => counts[index] === 0).map(({ name }) => `“${name.trim()}”`);
  const ways = [
    byPart > 0 ? `${byPart} by name` : '',
    byShape > 0 ? `${byShape} by shape` : '',
    byColour > 0 ? `${byColour} by colour` : '',
    left > 0 ? `${left} stay with “${material}”` : '',
  ].filter((way) => way !== '');
  return done(
    `${byId + byPart + byShape + byColour} pieces of “${material}” became ${made.join(', ')}: ` +
      `${[`${byId} found by id`, ...ways].join(', ')}.` +
      (empty.length > 0 ? ` No pieces were found for ${empty.join(', ')}.` : '') +
      (copies > 0 ? ` ${copies} ${copies === 1 ? 'copy was' : 'copies were'} made of shared meshes.` : ''),
    { byId, byPart, byShape, byColour, left, groups: made.length, triangles, meshesCopied: copies },
  );
}
