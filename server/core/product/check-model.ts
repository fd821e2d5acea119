import { joinRepairs } from '../repair/list-proposals.ts';
import { describeMorePlaces, GROUPED_FINDINGS } from '../texts/finding-texts.ts';
import { PLACES } from '../texts/format-text.ts';
import { checkDamage, checkFile } from './check-file.ts';
import { checkImages, checkMaps } from './check-maps.ts';
import { checkMaterials } from './check-materials.ts';
import { checkFacing, checkPieces } from './check-pieces.ts';
import { checkMount, checkSize } from './check-size.ts';
import { checkStructure } from './check-structure.ts';
import { checkUv } from './check-uv.ts';
import { checkWeight } from './check-weight.ts';
import type { Finding, FindingCode } from './finding.ts';
import { gatherFacts, type ModelUnderCheck } from './model-facts.ts';

export type { ModelUnderCheck } from './model-facts.ts';

/**
 * Checks whether a model is ready to take finishes. Never throws. A good model has no findings.
 *
 * A warning hinders finishes or breaks a rule that the model can meet. It names a way out: repairs, or whom to ask. A
 * finding that no repair settles and that affects no finish is a note.
 */
export function checkModel(model: ModelUnderCheck): Finding[] {
  const facts = gatherFacts(model);
  const size = checkSize(facts.product, facts.survey);
  const hasUnitSlip = size.some(({ code }) => code === 'unit-slip');
  return [
    ...size,
    ...checkMount(facts.product.mount, facts.survey, hasUnitSlip),
    ...checkDamage(facts.survey),
    ...checkStructure(facts),
    ...checkFacing(facts),
    ...checkPieces(facts),
    ...checkMaterials(facts),
    ...checkMaps(facts),
    ...checkUv(facts),
    ...checkImages(facts),
    ...checkWeight(facts),
    ...checkFile(facts),
  ];
}

/** Codes whose findings stay separate, because each has a cause of its own. */
const APART: ReadonlySet<FindingCode> = new Set([
  'unit-slip',
  'size-implausible',
  'size-off-sheet',
  'one-material-many-pieces',
  'broken-geometry',
  // These already list their places.
  'damaged-value',
  'dangling-reference',
  'damaged-animation',
  'undeclared-extension',
  'unknown-extension',
  'validator',
  'preparation-step-unfit',
  'slot-without-finish',
  'slot-not-in-model',
  'slot-is-fixed',
  'finish-not-in-options',
  'finish-discontinued',
  'finish-phased-out',
  'rule-broken',
  'normals-not-combined',
]);

/** Places that a finding names. The others are counted. */
const NAMED = 3;

/**
 * Groups findings by cause. Findings with the same code and severity become one, at the position of the first. It lists
 * all places and has repairs that settle all of them. Other findings stay unchanged.
 */
export function groupFindings(findings: readonly Finding[]): Finding[] {
  const groups = new Map<string, Finding[]>();
  findings.forEach((finding, at) => {
    const key = APART.has(finding.code) ? String(at) : `${finding.code} ${finding.severity} ${finding.asks ?? false}`;
    const group = groups.get(key);
    if (group) group.push(finding);
    else groups.set(key, [finding]);
  });
  return [...groups.values()].map((group) => (group.length === 1 ? group[0]! : join(group)));
}

function join(group: readonly Finding[]): Finding {
  const { code, severity, where, message, asks } = group[0]!;
  const repairs = joinRepairs(group.flatMap((finding) => finding.repairs ?? []));
  return {
    code,
    severity,
    where,
    place: PLACES.several(
      group.map(({ place, where }) => place ?? where),
      NAMED,
    ),
    message: GROUPED_FINDINGS[code]?.(group.length) ?? `${message} ${describeMorePlaces(group.length - 1)}`,
    places: group.map(({ code: _, severity: __, asks: ___, ...rest }) => rest),
    ...(repairs.length > 0 && { repairs }),
    ...(asks && { asks }),
  };
}
