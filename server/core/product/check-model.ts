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
 * What the survey of a model has to say about taking finishes. Never throws; an empty list is a good model.
 *
 * A warning hinders finishes or breaks a rule that can be kept, and names its way out: repairs, or whom to ask. What no
 * repair settles and no finish suffers from is a note.
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

/** Codes whose findings each have a cause of their own, however many there are: they stay apart. */
const APART: ReadonlySet<FindingCode> = new Set([
  'unit-slip',
  'size-implausible',
  'size-off-sheet',
  'one-material-many-pieces',
  'broken-geometry',
  // these list their places already
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

/** Places a finding names before it counts the others. */
const NAMED = 3;

/**
 * One finding for each cause. Findings of one code and severity become one that lists their places, stands where the first
 * of them stood, and carries repairs that settle all of them. Others are left as they are.
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
