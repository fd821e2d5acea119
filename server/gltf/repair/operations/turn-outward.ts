import { type MatchedPieces, matchPieces } from '../../../core/repair/match-pieces.ts';
import type { RepairOf } from '../../../core/repair/repair.ts';
import {
  describeNoMaterials,
  REPAIR_LOSSES,
  REPAIR_NOTES,
  REPAIR_OUTCOMES,
} from '../../../core/texts/repair-outcomes.ts';
import { isKnownExtension } from '../../document/extensions.ts';
import { COMPONENT_BYTES, type MeshJson, type PrimitiveJson, TYPE_COMPONENTS } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { IDENTITY, listSceneNodes } from '../../document/world-matrices.ts';
import { listTriangles, packIndices } from '../../geometry/list-triangles.ts';
import { checkOrientation, type OrientationCheck } from '../../geometry/orientation/check-orientation.ts';
import { type FoundPieces, findPieces } from '../../geometry/pieces/find-pieces.ts';
import { placeScene } from '../../geometry/place-scene.ts';
import { gatherElements } from '../edit/change-vertices.ts';
import { ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { readFloats } from '../edit/read-geometry.ts';
import { type Assignment, changeMeshes } from '../edit/split-primitives.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Outcome, type Repairer, unfit } from '../repairer.ts';

/** Bits: whether a triangle changes the order of its corners, and whether it changes its normals. */
const WINDING = 1;
const NORMALS = 2;

const OUTCOMES = REPAIR_OUTCOMES['turn-outward'];

/**
 * Turns pieces that face inward: the order of their corners, their normals with the handedness of tangents, or both.
 * `checkOrientation` decides for the current model, so a corrected export stays as it is. Without settings, and for named
 * materials, only certain cases are turned. Named pieces are turned also when it is only more likely than not.
 */
export const turnOutward: Repairer<'turn-outward'> = {
  listLosses({ json }) {
    const unknown = new Set(
      (json.meshes ?? []).flatMap(({ primitives }) =>
        primitives.flatMap(({ extensions = {} }) => Object.keys(extensions).filter((name) => !isKnownExtension(name))),
      ),
    );
    return [...unknown].map(REPAIR_LOSSES.cornerOrder);
  },

  async apply(edit, repair) {
    const model: LoadedModel = { ...(await edit.decode()), cache: new Map() };
    const nodes = listSceneNodes(edit.json);
    const scene = placeScene(model, nodes);
    const found = findPieces(model, nodes, scene);
    const turns = chooseTurns(edit, repair, found, checkOrientation(model, nodes, scene, found));
    if (!(turns instanceof Uint8Array)) return turns;
    const wanted = listAssignments(found, turns);
    if (!wanted.every((one) => canTurn(model, one))) {
      return unfit(OUTCOMES.unreadable);
    }
    const changed = wanted.map(({ node, mesh }) => ({ node, mesh, matrix: IDENTITY }));
    if (isCompressed(edit.json, changed)) await unpackGeometry(edit);
    const turner = new TriangleTurner();
    const copies = changeMeshes(edit, wanted, (...change) => turner.turn(...change));
    return report(found, turns, copies);
  },
};

/** For each piece, the bits of its turn; or an outcome that says why no piece is. */
function chooseTurns(
  edit: ModelEdit,
  { materials: references, pieces: named, shapes }: RepairOf<'turn-outward'>,
  { pieces }: FoundPieces,
  { faults, findTurn }: OrientationCheck,
): Uint8Array | Outcome {
  const picked = references && edit.pickMaterials(references);
  if (picked?.materials.length === 0) return unfit(describeNoMaterials(picked.missing, edit.labelMaterials()));
  const match = named && findNamed(pieces, named, shapes);
  if (match?.left === pieces.length) return unfit(OUTCOMES.noneFound);
  const turns = Uint8Array.from(pieces, ({ material }, index) => {
    const fault = faults[index];
    if (match) return match.groups[index] === 0 ? TURNS[findTurn(index) ?? 'none'] : 0;
    if (picked && (material === null || !picked.materials.includes(material))) return 0;
    return fault?.certain ? TURNS[fault.turn] : 0;
  });
  if (turns.some(Boolean)) return turns;
  if (match) return nothingToDo(OUTCOMES.piecesFaceOutward);
  return nothingToDo(
    picked ? OUTCOMES.materialsFaceOutward(edit.labelMaterials(picked.materials)) : OUTCOMES.allFaceOutward,
  );
}

/** Matches by id; by shape only if no id matches, since pieces of one shape may face differently. */
function findNamed(
  pieces: FoundPieces['pieces'],
  named: readonly string[],
  shapes: readonly string[] = [],
): MatchedPieces {
  const byId = matchPieces(pieces, [{ name: '', pieces: named }]);
  return byId.byId > 0 ? byId : matchPieces(pieces, [{ name: '', pieces: [], shapes }]);
}

const TURNS = { none: 0, winding: WINDING, normals: NORMALS, both: WINDING | NORMALS } as const;

/** Includes all nodes of a mesh with a turned triangle, since they may need different changes. */
function listAssignments({ parts }: FoundPieces, turns: Uint8Array): Assignment[] {
  const all = parts.map(({ node, mesh, primitive, pieceOfTriangle }): Assignment => {
    const wanted = Int32Array.from(pieceOfTriangle, (piece) => (piece < 0 ? 0 : turns[piece]!));
    return { node, mesh, primitive, wanted };
  });
  const affected = new Set(all.flatMap(({ mesh, wanted }) => (wanted.some(Boolean) ? mesh : [])));
  return all.filter(({ mesh }) => affected.has(mesh));
}

/** Whether normals and tangents that must be turned can be read. */
function canTurn(model: LoadedModel, { mesh, primitive, wanted }: Assignment): boolean {
  if (!wanted.some((turn) => turn & NORMALS)) return true;
  const { attributes, targets = [] } = model.json.meshes![mesh]!.primitives[primitive]!;
  const read = [attributes.NORMAL, attributes.TANGENT, ...targets.map(({ NORMAL }) => NORMAL)];
  return read.every((accessor) => accessor === undefined || readFloats(model, accessor) !== null);
}

function report({ pieces }: FoundPieces, turns: Uint8Array, copies: number): Outcome {
  const counts = { winding: 0, normals: 0, both: 0 };
  let [turned, triangles] = [0, 0];
  turns.forEach((turn, piece) => {
    if (turn === 0) return;
    turned++;
    triangles += pieces[piece]!.triangles;
    counts[turn === WINDING ? 'winding' : turn === NORMALS ? 'normals' : 'both']++;
  });
  const figures = { pieces: turned, triangles, ...counts };
  return done(OUTCOMES.done(figures) + REPAIR_NOTES.copies(copies), { ...figures, meshesCopied: copies });
}

/** A copy of an accessor, and the decision for each of its elements. */
interface Copy {
  readonly accessor: number;
  readonly decided: Uint8Array;
}

const KEPT = 1;
const TURNED = 2;

/**
 * Turns triangles of primitives. Indices are written again, as lists also for strips and fans. Normals and their morph
 * deltas are negated in a copy of the same component type. Tangents keep their direction and change handedness, so that the
 * bitangent stays along V (glTF 2.0 §3.7.2.1). Primitives that share an accessor share its copy if they agree.
 */
class TriangleTurner {
  readonly #copies = new Map<number, Copy[]>();

  turn(edit: ModelEdit, mesh: MeshJson, index: number, wanted: Int32Array): void {
    const primitive = mesh.primitives[index]!;
    const triangles = listTriangles(edit.loaded, primitive)!;
    const vertices = edit.json.accessors![primitive.attributes.POSITION!]!.count;
    if (wanted.some((turn) => turn & NORMALS))
      this.#turnNormals(edit, primitive, listDecisions(triangles, vertices, wanted));
    if (!wanted.some((turn) => turn & WINDING)) return;
    const corners = triangles.slice();
    wanted.forEach((turn, t) => {
      if ((turn & WINDING) === 0) return;
      corners[t * 3 + 1] = triangles[t * 3 + 2]!;
      corners[t * 3 + 2] = triangles[t * 3 + 1]!;
    });
    primitive.indices = edit.addAccessor(packIndices(corners, vertices), 'SCALAR', { target: ELEMENT_ARRAY_BUFFER });
    delete primitive.mode;
  }

  #turnNormals(edit: ModelEdit, { attributes, targets = [] }: PrimitiveJson, decisions: Uint8Array): void {
    for (const set of [attributes, ...targets]) {
      if (set.NORMAL !== undefined) set.NORMAL = this.#negate(edit, set.NORMAL, decisions, 0);
    }
    // deltas of tangents have no handedness (§3.7.2.2)
    if (attributes.TANGENT !== undefined) attributes.TANGENT = this.#negate(edit, attributes.TANGENT, decisions, 3);
  }

  /** @param from first component that is negated */
  #negate(edit: ModelEdit, index: number, decisions: Uint8Array, from: number): number {
    const { bufferView, sparse } = edit.json.accessors![index]!;
    // an accessor without bytes is all zeros
    if (bufferView === undefined && !sparse) return index;
    const copies = this.#copies.get(index) ?? [];
    this.#copies.set(index, copies);
    let copy = copies.find(({ decided }) => decisions.every((one, at) => one === 0 || (decided[at] || one) === one));
    if (!copy) {
      copy = { accessor: copyAccessor(edit, index), decided: new Uint8Array(decisions.length) };
      copies.push(copy);
    }
    negateElements(edit, copy, decisions, from);
    return copy.accessor;
  }
}

/** The decision for each vertex; 0 if no triangle uses it. Pieces share no vertices, so their triangles agree. */
function listDecisions(triangles: Uint32Array, vertices: number, wanted: Int32Array): Uint8Array {
  const decisions = new Uint8Array(vertices);
  for (let corner = 0; corner < triangles.length; corner++) {
    const turned = (wanted[Math.floor(corner / 3)]! & NORMALS) !== 0;
    if (triangles[corner]! < vertices) decisions[triangles[corner]!]! |= turned ? TURNED : KEPT;
  }
  // a sliver that belongs to no piece may use a vertex of a piece
  return decisions.map((one) => (one & TURNED ? TURNED : one));
}

function copyAccessor(edit: ModelEdit, index: number): number {
  const { count } = edit.json.accessors![index]!;
  const copy = gatherElements(
    edit,
    index,
    Uint32Array.from({ length: count }, (_, at) => at),
  );
  // the bounds are those of the old values; normals need none
  delete edit.json.accessors![copy]!.min;
  delete edit.json.accessors![copy]!.max;
  return copy;
}

function negateElements(edit: ModelEdit, { accessor, decided }: Copy, decisions: Uint8Array, from: number): void {
  const { bufferView, componentType, type } = edit.json.accessors![accessor]!;
  const bytes = edit.added.get(bufferView!)!;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const size = COMPONENT_BYTES[componentType]!;
  const components = TYPE_COMPONENTS[type]!;
  const stride = edit.json.bufferViews![bufferView!]!.byteStride ?? size * components;
  for (let vertex = 0; vertex < decisions.length; vertex++) {
    if (decisions[vertex] === TURNED && decided[vertex] === 0) {
      for (let component = from; component < components; component++) {
        const at = vertex * stride + component * size;
        if (size === 4) view.setFloat32(at, -view.getFloat32(at, true), true);
        // the smallest integer has no positive counterpart
        else if (size === 2) view.setInt16(at, Math.min(32767, -view.getInt16(at, true)), true);
        else view.setInt8(at, Math.min(127, -view.getInt8(at)));
      }
    }
    decided[vertex] ||= decisions[vertex]!;
  }
}
