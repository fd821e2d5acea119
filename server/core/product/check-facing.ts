import { PLACES } from '../texts/place-titles.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { InwardPiece } from './survey.ts';

/** Ids listed in a finding; the survey has all of them. */
const LISTED = 20;

/** Pieces that face inward: one finding for those of which it is certain, and one for those that may be meant so. */
export function checkFacing({ survey }: ModelFacts): Finding[] {
  const certain = survey.inward.filter((piece) => piece.certain);
  const doubtful = survey.inward.filter((piece) => !piece.certain);
  const count = (by: InwardPiece['by']) => certain.filter((piece) => piece.by === by).length;
  return [
    ...(certain.length === 0
      ? []
      : [
          makeFinding(
            'faces-inward',
            {
              pieces: certain.length,
              byVolume: count('volume'),
              byView: count('view'),
              byNormals: count('normals'),
            },
            { ...describePieces(certain, survey.materials), repairs: [{ repair: 'turn-outward' }] },
          ),
        ]),
    ...(doubtful.length === 0
      ? []
      : [
          makeFinding(
            'faces-inward:doubtful',
            { pieces: doubtful.length },
            {
              ...describePieces(doubtful, survey.materials),
              repairs: [
                {
                  repair: 'turn-outward',
                  pieces: doubtful.map(({ piece }) => piece),
                  shapes: [...new Set(doubtful.map(({ shape }) => shape))],
                },
              ],
            },
            'note',
          ),
        ]),
  ];
}

function describePieces(pieces: readonly InwardPiece[], materials: ModelFacts['survey']['materials']) {
  const [first] = pieces as readonly [InwardPiece, ...InwardPiece[]];
  const used = [...new Set(pieces.map(({ material }) => material))];
  const names = used.map((material) => (material === null ? '' : materials[material]?.name) || 'unnamed material');
  const nodes = [...new Set(pieces.flatMap((piece) => piece.nodes))];
  return {
    where: first.material === null ? '/meshes' : `/materials/${first.material}`,
    place: PLACES.pieces(names, nodes),
    seen: { pieces: pieces.length, first: pieces.slice(0, LISTED).map(({ piece }) => piece) },
    expected: 'fronts and normals outward',
  };
}
