import type { Repair } from '../repair/repair.ts';
import { formatPercent, labelMaterial, PLACES } from '../texts/format-text.ts';
import { type Finding, makeFinding } from './finding.ts';
import { type ModelFacts, pointerOf } from './model-facts.ts';
import { SIZE_OFF, type Survey, type SurveyedMaterial, type UvDensity } from './survey.ts';

/** Seams of any layout share a few texels. More than one in twenty is intentional or a mistake. Judgement. */
const OVERLAP = 0.05;
/** UVs that leave the unit square are laid out for tiling, where overlaps are intended. Judgement. */
const TILED = 0.01;
/** A circle that becomes an ellipse of three to two is visible in a weave. Judgement. */
const STRETCH = 1.5;

/**
 * If less than this share of a slot's surface is off, it is trim, whose repeat nobody notices. Slivers are not
 * reported. Judgement.
 */
const TRIM = 0.1;
const SLIVER = 0.01;

/**
 * Two sizes side by side look different from a ratio of 1.2, each a tenth off its true size (common practice). A size
 * that changes gradually over a turned or domed part, as in any flat layout, shows from a ratio of 1.5. Judgement.
 */
const SEEN_STEP = 1.2;
const SEEN_RANGE = 1.5;

/** A part with at least this metalness is bare metal. */
const BARE_METAL = 0.9;
/** A slot with a smaller share of the product's surface is a button or a foot. Judgement. */
const SMALL_PART = 0.02;

/** Checks how maps lie on the parts that take finishes. */
export function checkUv(facts: ModelFacts): Finding[] {
  const drawn = facts.survey.primitives.filter((primitive) => primitive.uses > 0 && primitive.triangles > 0);
  return facts.open.flatMap((material) => {
    const own = drawn.filter((primitive) => primitive.material === material.index);
    const bare = own.filter((primitive) => !primitive.hasUvs).length;
    return [
      ...(bare > 0 ? [missing(facts, material, bare, own.length)] : []),
      ...(material.metresPerUv === null && bare < own.length ? [scaleUnknown(facts, material)] : []),
      ...checkDensity(facts, material),
      ...checkLayout(material),
    ];
  });
}

function missing({ refer }: ModelFacts, material: SurveyedMaterial, bare: number, all: number): Finding {
  // Parts that have UVs keep them unless their material is named.
  const repair: Repair = { repair: 'box-uvs', ...(bare === all ? { materials: [refer(material)] } : {}) };
  return makeFinding(
    'missing-uv',
    { label: labelMaterial(material), bare, all, texCoord: material.lay.texCoord },
    {
      where: pointerOf(material),
      place: PLACES.material(material),
      seen: bare,
      expected: 0,
      repairs: [repair],
    },
  );
}

/** Finds surfaces where the repeat is larger or smaller than its true size, which is its size on most of the slot. */
function checkDensity({ survey, refer }: ModelFacts, material: SurveyedMaterial): Finding[] {
  const sizes = material.uv?.sizes;
  if (!sizes || sizes.off < TRIM) return [];
  const { low, high, off } = sizes;
  const whole = material.densities.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const pieces = material.densities
    .filter(({ areaM2 }) => areaM2 >= whole * SLIVER)
    .sort((a, b) => a.metresPerUv - b.metresPerUv);
  const [finest, coarsest] = [pieces[0], pieces.at(-1)];
  const differs = finest && coarsest && coarsest.metresPerUv > finest.metresPerUv * SIZE_OFF;
  const ownMaps = material.maps.filter(({ texCoord }) => texCoord === material.lay.texCoord).length;
  return [
    makeFinding(
      'uneven-density',
      {
        label: labelMaterial(material),
        low,
        high,
        off,
        tolerance: SIZE_OFF - 1,
        finest: differs ? toFigures(finest, whole) : null,
        coarsest: differs ? toFigures(coarsest, whole) : null,
        ownMaps,
      },
      {
        where: pointerOf(material),
        place: PLACES.material(material),
        seen: {
          low,
          high,
          percent: (high / low - 1) * 100,
          off,
          densities: pieces.map(({ metresPerUv, areaM2, pieces: ids }) => ({
            metresPerUv,
            share: areaM2 / whole,
            pieces: ids,
          })),
        },
        expected: `all within ${formatPercent(SIZE_OFF - 1)} of its true size`,
        repairs: [{ repair: 'box-uvs', materials: [refer(material)] }],
      },
      // The UVs of an atlas painted for this part are right as they are.
      ownMaps === 0 && showsRepeat(material, survey) && isSeen(high / low, pieces, whole) ? 'warning' : 'note',
    ),
  ];
}

/** Bare metal and glass usually take finishes of one colour, and nobody looks for weave or grain on a button. */
function showsRepeat({ alphaMode, factors, areaM2 }: SurveyedMaterial, { materials }: Survey): boolean {
  const whole = materials.reduce((sum, material) => sum + material.areaM2, 0);
  return alphaMode !== 'BLEND' && factors.metallic < BARE_METAL && areaM2 >= whole * SMALL_PART;
}

/** Whether two sizes of a repeat are visible: where large pieces meet, or because it doubles within a piece. */
function isSeen(range: number, pieces: readonly UvDensity[], whole: number): boolean {
  const large = pieces.filter(({ areaM2 }) => areaM2 >= whole * TRIM);
  const [finest, coarsest] = [large[0], large.at(-1)];
  const step = finest && coarsest ? coarsest.metresPerUv / finest.metresPerUv : 1;
  return range >= SEEN_RANGE || step >= SEEN_STEP;
}

function toFigures({ metresPerUv, areaM2, count, nodes }: UvDensity, whole: number) {
  return { metresPerUv, pieces: count, share: areaM2 / whole, nodes };
}

function scaleUnknown({ refer }: ModelFacts, material: SurveyedMaterial): Finding {
  return makeFinding(
    'uv-scale-unknown',
    { label: labelMaterial(material) },
    {
      where: pointerOf(material),
      place: PLACES.material(material),
      seen: null,
      expected: 'metres of surface for every unit of UV',
      repairs: [{ repair: 'box-uvs', materials: [refer(material)] }],
    },
  );
}

function checkLayout(material: SurveyedMaterial): Finding[] {
  const { uv } = material;
  if (!uv) return [];
  const findings: Finding[] = [];
  if (uv.overlap > OVERLAP && uv.outside <= TILED && material.maps.length > 0) {
    findings.push(
      makeFinding(
        'uv-overlap',
        { label: labelMaterial(material), share: uv.overlap },
        {
          where: pointerOf(material),
          place: PLACES.material(material),
          seen: uv.overlap,
          expected: `${OVERLAP} or less`,
        },
      ),
    );
  }
  if (uv.stretch > STRETCH) {
    findings.push(
      makeFinding(
        'uv-stretch',
        { label: labelMaterial(material), stretch: uv.stretch },
        {
          where: pointerOf(material),
          place: PLACES.material(material),
          seen: uv.stretch,
          expected: `${STRETCH} or less`,
        },
      ),
    );
  }
  return findings;
}
