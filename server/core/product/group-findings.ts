import { joinRepairs } from '../repair/list-proposals.ts';
import { describeMorePlaces, GROUPED_FINDINGS } from '../texts/finding-texts.ts';
import { PLACES } from '../texts/format-text.ts';
import type { Finding, FindingCode } from './finding.ts';

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
