import type { ChangesAnswer } from '../../../../server/http/contracts/delivery.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { productTexts } from '../../../texts/product.ts';
import { groupChanges } from './group-changes.ts';

const texts = productTexts.deliveries;

/** What differs since the last delivery, in sentences, and the findings that are new. */
export function ChangeList({ pending }: { readonly pending: ChangesAnswer }) {
  const { since, outdated, variants, changes, findings } = pending;
  if (since === null) return null;
  return (
    <>
      <h3>{texts.changesSince(since)}</h3>
      <p class={outdated ? 'strong' : ''}>{outdated ? texts.outdated(variants) : texts.upToDate(since)}</p>
      {outdated && (
        <ul class="changes">
          {groupChanges(changes).map(({ message, breaking, folded }) => (
            <li key={message}>
              {breaking && <span class="strong">{texts.breaking}</span>}
              {folded.length === 0 ? (
                <span dir="auto">{message}</span>
              ) : (
                <details class="fold">
                  <summary>{message}</summary>
                  <ul>
                    {folded.map((each) => (
                      <li key={each} class="small" dir="auto">
                        {each}
                      </li>
                    ))}
                  </ul>
                </details>
              )}
            </li>
          ))}
        </ul>
      )}
      {findings.length > 0 && (
        <>
          <h3>{texts.newFindings}</h3>
          <FindingList findings={findings} />
        </>
      )}
    </>
  );
}
