import type { Finding } from './finding.ts';

export type Verdict = 'ready' | 'attention' | 'blocked';

/** An error blocks, and a warning needs attention. A model with notes only is ready. */
export function judge(findings: readonly Finding[]): Verdict {
  if (findings.some((finding) => finding.severity === 'error')) return 'blocked';
  return findings.some((finding) => finding.severity === 'warning') ? 'attention' : 'ready';
}
