import type { Repair } from '../repair/repair.ts';
import { type Finding, makeFinding } from './finding.ts';
import { labelOf, type ModelFacts, placeOf, pointerOf } from './model-facts.ts';
import { count, figure, listNames, sayMm, sayShare } from './say.ts';
import type { SurveyedMaterial, UvDensity } from './survey.ts';

/** A few texels are shared at the seams of any layout; more than one in twenty is meant, or a mistake. Judgement. */
const OVERLAP = 0.05;
/** UVs that leave the unit square are laid for tiles, where lying over one another is the point. Judgement. */
const TILED = 0.01;
/** A circle that becomes an ellipse of three to two is seen in a weave. Judgement. */
const STRETCH = 1.5;

/** A repeat of 300 mm that comes out at 330 or 270 is seen beside its neighbour. Common practice. */
const OFF = 1.1;
/** Where less than this of a slot's surface is off it is trim, whose repeat is not seen; and of slivers nothing is said. Judgement. */
const TRIM = 0.1;
const SLIVER = 0.01;

/** How maps would lie on the parts that take finishes. */
export function checkUv(facts: ModelFacts): Finding[] {
  const drawn = facts.survey.primitives.filter((primitive) => primitive.uses > 0 && primitive.triangles > 0);
  return facts.open.flatMap((material) => {
    const own = drawn.filter((primitive) => primitive.material === material.index);
    const bare = own.filter((primitive) => primitive.uvSets === 0).length;
    return [
      ...(bare > 0 ? [missing(facts, material, bare, own.length)] : []),
      ...(material.metresPerUv === null && bare < own.length ? [scaleUnknown(facts, material)] : []),
      ...checkDensity(facts, material),
      ...checkLayout(material),
    ];
  });
}

function missing({ refer }: ModelFacts, material: SurveyedMaterial, bare: number, all: number): Finding {
  const which =
    bare === all
      ? `The parts of ${labelOf(material)} have`
      : `${figure(bare)} of the ${figure(all)} parts of ${labelOf(material)} have`;
  // those that have some keep them unless their material is named
  const repair: Repair = { repair: 'box-uvs', ...(bare === all ? { materials: [refer(material)] } : {}) };
  return makeFinding('missing-uv', {
    where: pointerOf(material),
    place: placeOf(material),
    message: `${which} no UVs, so no map can be laid there: finishes show their colour and gloss, and neither weave nor grain. Export with UVs, or have box UVs generated.`,
    seen: bare,
    expected: 0,
    repairs: [repair],
  });
}

/** Pieces whose repeat comes out larger or smaller than the slot's, by which finishes are laid. */
function checkDensity({ refer }: ModelFacts, material: SurveyedMaterial): Finding[] {
  const { densities, metresPerUv } = material;
  const whole = densities.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const seen = densities.filter(({ areaM2 }) => areaM2 >= whole * SLIVER).sort((a, b) => a.metresPerUv - b.metresPerUv);
  const [finest, coarsest] = [seen[0], seen.at(-1)];
  if (!finest || !coarsest || finest === coarsest || metresPerUv === null) return [];
  const off = seen
    .filter((one) => ratio(one.metresPerUv, metresPerUv) > OFF)
    .reduce((sum, { areaM2 }) => sum + areaM2, 0);
  if (off < whole * TRIM) return [];
  const factor = coarsest.metresPerUv / finest.metresPerUv;
  // an atlas that was painted for its UVs has them as they came out; new ones would move its maps, and no repair is offered
  const laid = material.maps.some(({ texCoord }) => texCoord === 0);
  return [
    makeFinding(
      'uneven-density',
      {
        where: pointerOf(material),
        place: placeOf(material),
        message: `A repeat comes out up to ${factor.toFixed(factor < 2 ? 2 : 1)} times as large on some pieces of ${labelOf(material)} as on others, and jumps where they meet: one UV unit is ${sayDensity(finest, whole)}, and ${sayDensity(coarsest, whole)}; ${sayShare(off / whole)} of the surface is off by more than ${sayShare(OFF - 1)}. Unwrap them at one density${laid ? '' : ', or have box UVs generated'}.`,
        seen: {
          factor,
          off: off / whole,
          densities: seen.map(({ metresPerUv, areaM2, pieces }) => ({ metresPerUv, share: areaM2 / whole, pieces })),
        },
        expected: `all within ${sayShare(OFF - 1)} of ${sayMm(metresPerUv)}`,
        ...(laid ? {} : { repairs: [{ repair: 'box-uvs', materials: [refer(material)] }] }),
      },
      laid ? 'note' : 'warning',
    ),
  ];
}

const ratio = (a: number, b: number) => Math.max(a / b, b / a);

function sayDensity({ metresPerUv, areaM2, count: pieces, nodes }: UvDensity, whole: number): string {
  const on = nodes.length > 0 ? `on ${listNames(nodes)}, ` : '';
  return `${sayMm(metresPerUv)} ${on}${count(pieces, 'piece')} of ${sayShare(areaM2 / whole)}`;
}

function scaleUnknown({ refer }: ModelFacts, material: SurveyedMaterial): Finding {
  return makeFinding('uv-scale-unknown', {
    where: pointerOf(material),
    place: placeOf(material),
    message: `How large the UVs of ${labelOf(material)} are on the part could not be measured; maps of finishes are laid as if one unit were a metre, and may come out at the wrong size. Export the part with UVs that cover it, or have box UVs generated.`,
    seen: null,
    expected: 'metres of surface for every unit of UV',
    repairs: [{ repair: 'box-uvs', materials: [refer(material)] }],
  });
}

function checkLayout(material: SurveyedMaterial): Finding[] {
  const { uv } = material;
  if (!uv) return [];
  const findings: Finding[] = [];
  if (uv.overlap > OVERLAP && uv.outside <= TILED && material.maps.length > 0) {
    findings.push(
      makeFinding('uv-overlap', {
        where: pointerOf(material),
        place: placeOf(material),
        message: `${sayShare(uv.overlap)} of the UV area of ${labelOf(material)} is covered more than once: right for mirrored or tiled parts, wrong for a map that was painted or baked for each place.`,
        seen: uv.overlap,
        expected: `${OVERLAP} or less`,
      }),
    );
  }
  if (uv.stretch > STRETCH) {
    findings.push(
      makeFinding('uv-stretch', {
        where: pointerOf(material),
        place: placeOf(material),
        message: `Maps on ${labelOf(material)} are drawn out ${uv.stretch.toFixed(1)} times longer than wide on average; weave and grain of finishes come out stretched. Unwrap the part evenly.`,
        seen: uv.stretch,
        expected: `${STRETCH} or less`,
      }),
    );
  }
  return findings;
}
