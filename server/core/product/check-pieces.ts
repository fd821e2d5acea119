import { planSeparations, type Separation } from '../repair/plan-separations.ts';
import { REPAIR_LIMITS } from '../repair/repair.ts';
import { labelMaterial, PLACES } from '../texts/format-text.ts';
import { readMaterialWord } from './check-metal.ts';
import { type Finding, makeFinding } from './finding.ts';
import { type ModelFacts, pointerOf } from './model-facts.ts';
import { preparationOf, type RevisionOrigin } from './product.ts';
import type { InwardPiece, Piece, Survey, SurveyedMaterial } from './survey.ts';

/**
 * Reports one material on pieces that may change separately. The model then has one slot for any number of parts. The
 * finding appears whether or not anything tells the pieces apart. It proposes groups that follow the model's own names.
 * All other groups are guesses: at most one is offered for a person to accept. Groups on a material named after one
 * substance are guesses too, because a chair in “Oak” may be all oak.
 */
export function checkPieces({ survey, pieces, open, refer, origin }: ModelFacts): Finding[] {
  if (!pieces) return [];
  const material = findOneMaterial({ survey, ...(origin ? { origin } : {}) });
  if (!material || !open.includes(material)) return [];
  const own = pieces.filter((piece) => piece.material === material.index);
  if (own.length <= FEW_PIECES) return [];
  const separations = recallSeparations(pieces, material.index, survey).filter(
    ({ groups }) => groups.length <= REPAIR_LIMITS.groups,
  );
  const share = material.areaM2 / survey.materials.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const one = readMaterialWord(material.name) !== null;
  const repairs = separations.map(({ groups }) => ({
    repair: 'separate-pieces' as const,
    material: refer(material),
    groups,
  }));
  const [first] = separations;
  const left = own.length - (first?.groups ?? []).reduce((sum, group) => sum + group.pieces.length, 0);
  return [
    makeFinding(
      'one-material-many-pieces',
      {
        label: labelMaterial(material),
        share,
        pieces: own.length,
        groups: first ? { by: first.by, names: first.groups.map(({ name }) => name), left } : null,
        ways: separations.length,
        isOneMaterial: one,
      },
      {
        where: pointerOf(material),
        place: PLACES.material(material),
        seen: { pieces: own.length, share, by: separations.map(({ by }) => by) },
        expected: 'a material for every part that changes by itself',
        ...(repairs.length > 0 ? { repairs } : {}),
        ...(separations[0]?.by === 'names' ? {} : { asks: true }),
      },
      one ? 'note' : 'warning',
    ),
  ];
}

/**
 * Grouping thousands of pieces takes a while, and many requests need readiness. The same list is therefore grouped
 * once.
 */
const recalled = new WeakMap<
  readonly Piece[],
  { readonly material: number; readonly separations: readonly Separation[] }
>();

function recallSeparations(pieces: readonly Piece[], material: number, { materials }: Survey): readonly Separation[] {
  const known = recalled.get(pieces);
  if (known?.material === material) return known.separations;
  // Each group needs a name that no other material of the model has, so that it becomes a slot. A group with the name
  // of its own material keeps that material.
  const names = materials.filter(({ index }) => index !== material).map(({ name }) => name);
  const separations = planSeparations(pieces, material, names);
  recalled.set(pieces, { material, separations });
  return separations;
}

/**
 * One material on this share of the surface was probably baked over parts that would change separately (common
 * practice).
 */
const ONE_MATERIAL_SHARE = 0.9;
/** A single part can have this many islands. */
const FEW_PIECES = 3;

/** The facts that tell from which materials pieces were already separated. */
interface Separable {
  readonly survey: Pick<Survey, 'materials'>;
  readonly origin?: RevisionOrigin;
}

/** Whether pieces of a model may need separating. */
export function mayNeedSeparation(model: Separable): boolean {
  return findOneMaterial(model) !== undefined;
}

/**
 * The material that may need separating. It has several pieces and covers nearly all of the area, or it is the rest of
 * such a material after a separation.
 */
function findOneMaterial({ survey: { materials }, origin }: Separable): SurveyedMaterial | undefined {
  const total = materials.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const rests = origin ? listSeparated(origin) : new Set<string>();
  const own = materials.filter(({ pieces }) => pieces > FEW_PIECES);
  return own.find(({ areaM2 }) => areaM2 >= total * ONE_MATERIAL_SHARE) ?? own.find(({ name }) => rests.has(name));
}

/** Names of materials from which pieces were separated, except those whose rest is itself a group of the separation. */
function listSeparated(origin: RevisionOrigin): Set<string> {
  const separations = preparationOf({ origin }).filter((repair) => repair.repair === 'separate-pieces');
  const isOwn = (name: string, material: string) => name.trim().toLowerCase() === material.trim().toLowerCase();
  return new Set(
    separations
      .filter(({ material, groups }) => !groups.some(({ name }) => isOwn(name, material)))
      .map(({ material }) => material),
  );
}

/** Ids listed in a finding. The survey has all of them. */
const LISTED = 20;

/** Reports pieces that face inward: one finding for the certain ones, and one for those that may be intentional. */
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
