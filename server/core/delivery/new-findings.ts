import type { Finding } from '../product/finding.ts';
import { groupFindings } from '../product/group-findings.ts';

/**
 * Findings that an earlier delivery does not have, grouped by cause. A finding is told by its code and what it says, so one that
 * gets more severe or reaches another place is new.
 */
export function listNewFindings(known: readonly Finding[], now: readonly Finding[]): Finding[] {
  const before = new Set(known.flatMap(openGroup).map(keyOf));
  return groupFindings(now.flatMap(openGroup).filter((finding) => !before.has(keyOf(finding))));
}

/** A grouped finding as one for each of its places. */
function openGroup(finding: Finding): Finding[] {
  const { places, code, severity, asks } = finding;
  if (!places) return [finding];
  return places.map((place): Finding => ({ ...place, code, severity, ...(asks && { asks }) }));
}

function keyOf({ code, severity, message, where }: Finding): string {
  return JSON.stringify([code, severity, message, where]);
}
