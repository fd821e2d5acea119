import { packPieceMap } from '../../core/product/piece-map.ts';
import { decodeGeometry } from '../document/decode-geometry.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import { listSceneNodes } from '../document/world-matrices.ts';
import { findPieces } from '../geometry/pieces/find-pieces.ts';

/**
 * The packed piece map of a model. It has the ids of the survey, because the same search finds the pieces.
 * @param sha256 of the file
 * @throws Problem `model-too-complex`
 */
export async function mapPieces({ json, bin }: LoadedModel, sha256: string): Promise<Uint8Array> {
  const model: LoadedModel = { ...(await decodeGeometry({ json, bin })), cache: new Map() };
  const { pieces, parts } = findPieces(model, listSceneNodes(json));
  return packPieceMap({ model: sha256, pieces: pieces.map(({ piece }) => piece), parts });
}
