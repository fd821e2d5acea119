import { signal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import type { FinishHistoryAnswer, FinishRevisionAnswer } from '../../../server/http/contracts/finish-history.ts';
import { get, getErrorMessage, seg } from '../../api.ts';
import { formatDate } from '../../format.ts';
import { Field, Notice } from '../../parts/form.tsx';
import { Chip } from '../../parts/picture.tsx';
import { person, setPerson } from '../../session.ts';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { describeDifference, describeEvent, describeOrigin, type HistoryRow, listRows } from './describe-revision.ts';

const texts = finishesTexts.revisions;

/** The revisions of a finish: colour, date, person and changes of each. Also asks for the name to record from now on. */
export function Revisions({ finish, revision }: { readonly finish: string; readonly revision: number }) {
  const model = useMemo(() => createRevisionsModel(finish), [finish]);
  useEffect(() => void model.load(), [model, revision]);
  const answer = model.answer.value;
  return (
    <section class="finish-revisions">
      <h3>{texts.heading}</h3>
      <div class="no-print">
        <Field name={texts.yourName}>
          <input
            value={person.value}
            maxLength={120}
            autocomplete="name"
            onInput={(event) => setPerson(event.currentTarget.value)}
          />
        </Field>
      </div>
      <Notice text={model.trouble.value}>
        <button type="button" onClick={model.load}>
          {commonTexts.tryAgain}
        </button>
      </Notice>
      {answer && (
        <div class="scroll">
          <table class="small">
            <thead>
              <tr>
                {Object.values(texts.columns).map((column) => (
                  <th key={column} scope="col">
                    {column}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>{listRows(answer).map(renderRow)}</tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function renderRow(row: HistoryRow) {
  const entry = row.kind === 'revision' ? row.revision : row.event;
  return (
    <tr key={`${row.kind} ${entry.revision} ${entry.at}`}>
      <th scope="row">{row.kind === 'revision' && entry.revision}</th>
      <td>{row.kind === 'revision' && <Colour of={row.revision} />}</td>
      <td class="soft">{entry.at === null ? commonTexts.notRecorded : formatDate(entry.at)}</td>
      <td>{entry.person ?? <span class="soft">{texts.notStated}</span>}</td>
      <td>
        {row.kind === 'revision' ? <Changes of={row.revision} /> : describeEvent(row.event)}
        {entry.note && <p class="soft">{entry.note}</p>}
      </td>
    </tr>
  );
}

/** Smaller differences are rounding noise. */
const SHOWN_DELTA_E = 0.01;

function Colour({ of: { hex, deltaE } }: { readonly of: FinishRevisionAnswer }) {
  return (
    <>
      <Chip hex={hex} />
      <span class="chip-name">{hex}</span>
      {deltaE !== undefined && deltaE >= SHOWN_DELTA_E && <div class="soft">ΔE00 {deltaE.toFixed(2)}</div>}
    </>
  );
}

function Changes({ of: revision }: { readonly of: FinishRevisionAnswer }) {
  if (revision.how === 'saved' && revision.changes.length > 0) return <ChangeList of={revision} />;
  return (
    <>
      {describeOrigin(revision)}
      <ChangeList of={revision} />
    </>
  );
}

function ChangeList({ of: { changes } }: { readonly of: FinishRevisionAnswer }) {
  if (changes.length === 0) return null;
  return (
    <ul>
      {changes.map((change) => (
        <li key={change.field}>{describeDifference(change)}</li>
      ))}
    </ul>
  );
}

function createRevisionsModel(finish: string) {
  const answer = signal<FinishHistoryAnswer | null>(null);
  const trouble = signal<string | null>(null);

  async function load(): Promise<void> {
    try {
      answer.value = await get<FinishHistoryAnswer>(`/api/finishes/${seg(finish)}/revisions`);
      trouble.value = null;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  return { answer, trouble, load };
}
