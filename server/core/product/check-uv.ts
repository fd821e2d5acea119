import { type Finding, makeFinding } from './finding.ts';
import { labelOf, type ModelFacts, placeOf, pointerOf } from './model-facts.ts';
import { sayShare } from './say.ts';
import type { SurveyedMaterial } from './survey.ts';

/** A few texels are shared at the seams of any layout; more than one in twenty is meant, or a mistake. Judgement. */
const OVERLAP = 0.05;
/** UVs that leave the unit square are laid for tiles, where lying over one another is the point. Judgement. */
const TILED = 0.01;
/** A circle that becomes an ellipse of three to two is seen in a weave. Judgement. */
const STRETCH = 1.5;

/** How maps would lie on the parts that take finishes. */
export function checkUv({ survey, open }: ModelFacts): Finding[] {
  const drawn = survey.primitives.filter((primitive) => primitive.uses > 0 && primitive.triangles > 0);
  const withUvs = new Set(drawn.filter((primitive) => primitive.uvSets > 0).map((primitive) => primitive.material));
  return open.flatMap((material) => [
    ...(material.metresPerUv === null && withUvs.has(material.index) ? [scaleUnknown(material)] : []),
    ...checkLayout(material),
  ]);
}

function scaleUnknown(material: SurveyedMaterial): Finding {
  return makeFinding('uv-scale-unknown', {
    where: pointerOf(material),
    place: placeOf(material),
    message: `How large the UVs of ${labelOf(material)} are on the part could not be measured; maps of finishes are laid as if one unit were a metre, and may come out at the wrong size. Export the part without compression, or with UVs that cover it.`,
    seen: null,
    expected: 'metres of surface for every unit of UV',
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
