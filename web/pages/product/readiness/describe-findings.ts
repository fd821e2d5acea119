import type { Finding } from '../../../../server/core/product/finding.ts';
import { count } from '../../../format.ts';

/** How many findings there are of each weight: “2 things to look at, 1 note”. */
export function describeFindings(findings: readonly Finding[]): string {
  if (findings.length === 0) return 'Nothing stands against a delivery.';
  const of = (severity: Finding['severity']) => findings.filter((finding) => finding.severity === severity).length;
  const parts = [
    [of('error'), 'thing that blocks', 'things that block'],
    [of('warning'), 'thing to look at', 'things to look at'],
    [of('note'), 'note', 'notes'],
  ] as const;
  return `${parts
    .filter(([n]) => n > 0)
    .map(([n, one, many]) => count(n, one, many))
    .join(', ')}.`;
}
