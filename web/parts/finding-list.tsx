import type { ComponentChildren } from 'preact';
import type { Finding, FindingPlace, Severity } from '../../server/core/product/finding.ts';
import { formatSignificant } from '../format.ts';
import { commonTexts } from '../texts/common.ts';

const ORDER: readonly Severity[] = ['error', 'warning', 'note'];

/** Findings in the order in which lists show them. */
export function sortFindings(findings: readonly Finding[]): Finding[] {
  return findings.toSorted((a, b) => ORDER.indexOf(a.severity) - ORDER.indexOf(b.severity));
}

interface FindingListProps {
  readonly findings: readonly Finding[];
  /** Rendered below a finding: its remedies. */
  readonly under?: (finding: Finding) => ComponentChildren;
}

/** A list of findings, errors first. Font weight and a word show the severity. */
export function FindingList({ findings, under }: FindingListProps) {
  return (
    <ul class="findings">
      {sortFindings(findings).map((finding) => (
        <li key={`${finding.code} ${finding.where} ${finding.message}`}>
          <span class={finding.severity === 'error' ? 'strong' : finding.severity === 'note' ? 'soft' : ''}>
            {commonTexts.severities[finding.severity]}
          </span>
          <div>
            <p class="measure">{finding.message}</p>
            {finding.places ? (
              <details class="fold places">
                <summary>{finding.place}</summary>
                <ul>
                  {finding.places.map((place, at) => (
                    <li key={at}>
                      <p class="where">
                        {place.place ?? place.where}
                        {describeFigures(place)}
                      </p>
                      <p class="small measure">{place.message}</p>
                    </li>
                  ))}
                </ul>
              </details>
            ) : (
              <p class="where">
                {finding.place ?? finding.where}
                {describeFigures(finding)}
              </p>
            )}
            {under?.(finding)}
          </div>
        </li>
      ))}
    </ul>
  );
}

/** The found and expected values where both are plain numbers or words. Complex ones are in the message. */
function describeFigures({ seen, expected }: FindingPlace): string {
  const isPlain = (value: unknown) => typeof value === 'number' || (typeof value === 'string' && value !== '');
  if (!isPlain(seen) || !isPlain(expected)) return '';
  const show = (value: unknown) => (typeof value === 'number' ? formatSignificant(value, 3) : value);
  return commonTexts.findings.figures(show(seen), show(expected));
}
