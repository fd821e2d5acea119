import type { CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import { count, formatNumber } from '../../../format.ts';
import { Notice } from '../../../parts/notice.tsx';

/** What the rules leave nothing for: all combinations, or finishes that are on offer and in none. */
export function CombinationsNote({ counted }: { readonly counted: CountAnswer | null }) {
  const effects = counted?.effects;
  if (!effects) return null;
  if (effects.none !== null) return <Notice text={effects.none} />;
  const shut = effects.impossible.length + effects.more;
  if (shut === 0) return null;
  return (
    <details class="fold">
      <summary>
        {count(shut, 'finish', 'finishes')} on offer {shut === 1 ? 'is' : 'are'} in no valid combination
      </summary>
      <ul class="reasons">
        {effects.impossible.map(({ slot, label, finish, because }) => (
          <li class="reason" key={`${slot} ${finish}`}>
            <span>
              {label} <span class="code">{finish}</span>
            </span>
            <span class="measure">{because}</span>
          </li>
        ))}
        {effects.more > 0 && <li>and {formatNumber(effects.more)} more</li>}
      </ul>
    </details>
  );
}
