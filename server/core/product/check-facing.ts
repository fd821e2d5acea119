import { count, listNames } from '../texts/format-text.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { InwardPiece } from './survey.ts';

/** Ids told with a finding; the survey has all. */
const TOLD = 20;

/** Pieces that face inward: one finding for those of which it is certain, and one for those that may be meant so. */
export function checkFacing({ survey }: ModelFacts): Finding[] {
  const certain = survey.inward.filter((piece) => piece.certain);
  const doubtful = survey.inward.filter((piece) => !piece.certain);
  return [
    ...(certain.length === 0
      ? []
      : [
          makeFinding('faces-inward', {
            ...tell(certain, survey.materials),
            message: `${count(certain.length, 'piece')} ${certain.length === 1 ? 'faces' : 'face'} inward${sayWays(certain)}, so viewers leave out the near side or light it from behind: it looks hollow or nearly black in every finish. Turn ${certain.length === 1 ? 'it' : 'them'} outward.`,
            repairs: [{ repair: 'turn-outward' }],
          }),
        ]),
    ...(doubtful.length === 0
      ? []
      : [
          makeFinding(
            'faces-inward',
            {
              ...tell(doubtful, survey.materials),
              message: `${count(doubtful.length, 'piece')} mostly ${doubtful.length === 1 ? 'shows its back' : 'show their backs'} when seen from all round, and viewers leave backs out here. The walls of a room are meant so; turn anything else outward.`,
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

function tell(pieces: readonly InwardPiece[], materials: ModelFacts['survey']['materials']) {
  const [first] = pieces as readonly [InwardPiece, ...InwardPiece[]];
  const worn = [...new Set(pieces.map(({ material }) => material))];
  const names = worn.map((material) => (material === null ? '' : materials[material]?.name) || 'unnamed material');
  const nodes = [...new Set(pieces.flatMap((piece) => piece.nodes))];
  return {
    where: first.material === null ? '/meshes' : `/materials/${first.material}`,
    place: `${listNames(names)}${nodes.length > 0 ? ` on ${listNames(nodes)}` : ''}`,
    seen: { pieces: pieces.length, first: pieces.slice(0, TOLD).map(({ piece }) => piece) },
    expected: 'fronts and normals outward',
  };
}

/** What tells, where it is more than one thing or only the normals. */
function sayWays(pieces: readonly InwardPiece[]): string {
  const by = (way: InwardPiece['by']) => pieces.filter((piece) => piece.by === way).length;
  const ways = [
    by('volume') > 0 ? `${by('volume')} with a negative volume` : '',
    by('view') > 0 ? `${by('view')} of which only backs are seen` : '',
    by('normals') > 0 ? `${by('normals')} with normals against the order of corners` : '',
  ].filter((way) => way !== '');
  return ` (${ways.join(', ')})`;
}
