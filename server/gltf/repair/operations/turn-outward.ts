import { type MatchedPieces, matchPieces } from '../../../core/repair/match-pieces.ts';
import type { RepairOf } from '../../../core/repair/repair.ts';
import { count, formatNumber } from '../../../core/texts/format-text.ts';
import { isKnownExtension } from '../../document/extensions.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { IDENTITY, listSceneNodes } from '../../document/world-matrices.ts';
import { checkOrientation, type OrientationCheck } from '../../geometry/orientation/check-orientation.ts';
import { type FoundPieces, findPieces } from '../../geometry/pieces/find-pieces.ts';
import { placeScene } from '../../geometry/place-scene.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { listMaterialNames, pickMaterials, sayMissing } from '../edit/pick-materials.ts';
import { readFloats } from '../edit/read-floats.ts';
import { type Assignment, changeMeshes } from '../edit/split-primitives.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Outcome, type Repairer, unfit } from '../repairer.ts';
import { NORMALS, TriangleTurner, WINDING } from './turn-triangles.ts';

/**
 * Turns pieces that face inward: the order of their corners, their normals with the handedness of tangents, or both, as the
 * judgement of the model at hand has it, so that one that arrives mended is left alone. Without settings, and by materials,
 * only pieces of which that is certain; pieces that are named also where it is not, as long as more speaks for inward.
 */
export const turnOutward: Repairer<'turn-outward'> = {
  listLosses({ json }) {
    const unknown = new Set(
      (json.meshes ?? []).flatMap(({ primitives }) =>
        primitives.flatMap(({ extensions = {} }) => Object.keys(extensions).filter((name) => !isKnownExtension(name))),
      ),
    );
    return [...unknown].map((name) => `what ${name} says of triangles, should it follow their corners`);
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
      return unfit(
        'The normals of these pieces cannot be read. Export the model again, with another compression or none.',
      );
    }
    const changed = wanted.map(({ node, mesh }) => ({ node, mesh, matrix: IDENTITY }));
    if (isCompressed(edit.json, changed)) await unpackGeometry(edit);
    const turner = new TriangleTurner();
    const copies = changeMeshes(edit, wanted, (...change) => turner.turn(...change));
    return report(found, turns, copies);
  },
};

/** By piece, what is to be turned; or why there is nothing to turn. */
function chooseTurns(
  edit: ModelEdit,
  { materials: references, pieces: named, shapes }: RepairOf<'turn-outward'>,
  { pieces }: FoundPieces,
  { faults, findTurn }: OrientationCheck,
): Uint8Array | Outcome {
  const picked = references && pickMaterials(edit, references);
  if (picked?.materials.length === 0) return unfit(sayMissing(edit, picked.missing).trim());
  const match = named && findNamed(pieces, named, shapes);
  if (match?.left === pieces.length) {
    return unfit('None of the pieces it names are in the model, by id or shape. Choose the pieces again.');
  }
  const turns = Uint8Array.from(pieces, ({ material }, index) => {
    const fault = faults[index];
    if (match) return match.groups[index] === 0 ? TURNS[findTurn(index) ?? 'none'] : 0;
    if (picked && (material === null || !picked.materials.includes(material))) return 0;
    return fault?.certain ? TURNS[fault.turn] : 0;
  });
  if (turns.some(Boolean)) return turns;
  const what = match
    ? 'Each piece it names'
    : picked
      ? `All of ${listMaterialNames(edit, picked.materials)}`
      : 'Every piece';
  return nothingToDo(`${what} faces outward${match ? '' : ', or could be meant as it is'}.`);
}

/** By id; by shape only where no id is known any more, since pieces of one shape may face differently. */
function findNamed(
  pieces: FoundPieces['pieces'],
  named: readonly string[],
  shapes: readonly string[] = [],
): MatchedPieces {
  const byId = matchPieces(pieces, [{ name: '', pieces: named }]);
  return byId.byId > 0 ? byId : matchPieces(pieces, [{ name: '', pieces: [], shapes }]);
}

const TURNS = { none: 0, winding: WINDING, normals: NORMALS, both: WINDING | NORMALS } as const;

/** For all nodes that draw a mesh of which something is turned, since they may want it differently. */
function listAssignments({ parts }: FoundPieces, turns: Uint8Array): Assignment[] {
  const all = parts.map(({ node, mesh, primitive, pieceOfTriangle }): Assignment => {
    const wanted = Int32Array.from(pieceOfTriangle, (piece) => (piece < 0 ? 0 : turns[piece]!));
    return { node, mesh, primitive, wanted };
  });
  const affected = new Set(all.flatMap(({ mesh, wanted }) => (wanted.some(Boolean) ? mesh : [])));
  return all.filter(({ mesh }) => affected.has(mesh));
}

/** Whether what is turned with the triangles can be read. */
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
  const kinds = [
    counts.both > 0 ? `${formatNumber(counts.both)} with corners and normals` : '',
    counts.winding > 0 ? `${formatNumber(counts.winding)} with corners only` : '',
    counts.normals > 0 ? `${formatNumber(counts.normals)} with normals only` : '',
  ].filter((kind) => kind !== '');
  return done(
    `${count(turned, 'piece')} of ${count(triangles, 'triangle')} turned outward: ${kinds.join(', ')}.` +
      (copies > 0 ? ` ${count(copies, 'copy', 'copies')} of shared meshes made.` : ''),
    { pieces: turned, triangles, ...counts, meshesCopied: copies },
  );
}
