import type { Survey } from '../../../../server/core/product/survey.ts';
import { formatBytes } from '../../../format.ts';

/** Causes that are told one by one; the rest is summed. */
const TOLD = 12;

/** What the file weighs, by what causes it, heaviest first. */
export function WeightTable({ survey }: { readonly survey: Survey }) {
  const causes = listCauses(survey);
  const most = causes[0]?.bytes ?? 1;
  return (
    <table class="weight">
      <caption>Weight by cause, {formatBytes(survey.bytes)} in all</caption>
      <thead class="unseen">
        <tr>
          <th scope="col">Cause</th>
          <th scope="col">Bytes</th>
          <th scope="col">Share</th>
        </tr>
      </thead>
      <tbody>
        {causes.map(({ cause, bytes }) => (
          <tr key={cause}>
            <th scope="row">{cause}</th>
            <td class="figure">{formatBytes(bytes)}</td>
            <td class="figure soft">{formatShare(bytes / survey.bytes)}</td>
            <td class="bar" aria-hidden="true">
              <span style={{ width: `${(bytes / most) * 100}%` }} />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The heaviest causes, and what the others come to. */
export function listCauses({ weight, bytes }: Survey): { readonly cause: string; readonly bytes: number }[] {
  const causes = weight.causes.length > 0 ? weight.causes : coarse(weight);
  const told = causes.slice(0, TOLD);
  const rest = causes.slice(TOLD).reduce((sum, cause) => sum + cause.bytes, 0);
  return [...told, ...(rest > 0 ? [{ cause: 'all else', bytes: Math.min(rest, bytes) }] : [])];
}

const coarse = ({ json, images, geometry }: Survey['weight']) =>
  [
    { cause: 'geometry', bytes: geometry },
    { cause: 'images', bytes: images },
    { cause: 'JSON', bytes: json },
  ].sort((a, b) => b.bytes - a.bytes);

const formatShare = (share: number) => (share < 0.01 ? 'under 1 %' : `${Math.round(share * 100)} %`);
