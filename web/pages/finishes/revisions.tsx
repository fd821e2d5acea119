import { useEffect, useMemo } from 'preact/hooks';
import type { FinishRevisionAnswer } from '../../../server/http/contracts/finish-history.ts';
import { formatDate } from '../../format.ts';
import { Chip } from '../../parts/chip.tsx';
import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { person, setPerson } from '../../session.ts';
import { describeDifference, describeEvent, describeWay, type HistoryRow, listRows } from './describe-revision.ts';
import { createRevisionsModel } from './revisions-model.ts';

/** Who changed what of a finish when, each revision with its colour, and the name the next change is put down to. */
export function Revisions({ finish, revision }: { readonly finish: string; readonly revision: number }) {
  const model = useMemo(() => createRevisionsModel(finish), [finish]);
  useEffect(() => void model.load(), [model, revision]);
  const answer = model.answer.value;
  return (
    <section class="finish-revisions">
      <h3>Revisions</h3>
      <div class="no-print">
        <Field name="Your name, put down to every change you make here">
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
          Try again
        </button>
      </Notice>
      {answer && (
        <div class="scroll">
          <table class="small">
            <thead>
              <tr>
                <th scope="col">No.</th>
                <th scope="col">Colour</th>
                <th scope="col">When</th>
                <th scope="col">By whom, as stated</th>
                <th scope="col">What changed</th>
              </tr>
            </thead>
            <tbody>{listRows(answer).map(drawRow)}</tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function drawRow(row: HistoryRow) {
  const entry = row.kind === 'revision' ? row.revision : row.event;
  return (
    <tr key={`${row.kind} ${entry.revision} ${entry.at}`}>
      <th scope="row">{row.kind === 'revision' && entry.revision}</th>
      <td>{row.kind === 'revision' && <Colour of={row.revision} />}</td>
      <td class="soft">{entry.at === null ? 'not recorded' : formatDate(entry.at)}</td>
      <td>{entry.person ?? <span class="soft">not said</span>}</td>
      <td>
        {row.kind === 'revision' ? <Changes of={row.revision} /> : describeEvent(row.event)}
        {entry.note && <p class="soft">{entry.note}</p>}
      </td>
    </tr>
  );
}

/** Under a hundredth nothing has moved that could be told. */
const MOVED_DELTA_E = 0.01;

function Colour({ of: { hex, deltaE } }: { readonly of: FinishRevisionAnswer }) {
  return (
    <>
      <Chip hex={hex} />
      <span class="chip-name">{hex}</span>
      {deltaE !== undefined && deltaE >= MOVED_DELTA_E && <div class="soft">ΔE00 {deltaE.toFixed(2)}</div>}
    </>
  );
}

function Changes({ of: revision }: { readonly of: FinishRevisionAnswer }) {
  if (revision.how === 'saved' && revision.changes.length > 0) return <ChangeList of={revision} />;
  return (
    <>
      {describeWay(revision)}
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
