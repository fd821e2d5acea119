import type { Finding, Severity } from '../../server/core/product/finding.ts';

const WORDS: Readonly<Record<Severity, string>> = {
  error: 'Blocks',
  warning: 'Look at this',
  note: 'Note',
};

const ORDER: readonly Severity[] = ['error', 'warning', 'note'];

/** Findings as a plain list, what blocks first. Weight and word tell how grave they are. */
export function FindingList({ findings }: { readonly findings: readonly Finding[] }) {
  const sorted = [...findings].sort((a, b) => ORDER.indexOf(a.severity) - ORDER.indexOf(b.severity));
  return (
    <ul class="findings">
      {sorted.map((finding) => (
        <li key={`${finding.code} ${finding.where} ${finding.message}`}>
          <span class={finding.severity === 'error' ? 'strong' : finding.severity === 'note' ? 'soft' : ''}>
            {WORDS[finding.severity]}
          </span>
          <div class="measure">
            <p>{finding.message}</p>
            <p class="where">{finding.where}</p>
          </div>
        </li>
      ))}
    </ul>
  );
}
