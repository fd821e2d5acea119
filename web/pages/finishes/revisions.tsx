import { signal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import type { ColourSpecification } from '../../../server/core/finish/finish.ts';
import { formatColour } from '../../../server/core/finish/format-finish.ts';
import type { Difference } from '../../../server/core/history/compare-values.ts';
import type { EventEntry } from '../../../server/core/history/history.ts';
import type { FinishHistoryAnswer, FinishRevisionAnswer } from '../../../server/http/contracts/finish-history.ts';
import { getErrorMessage, seg } from '../../api.ts';
import { formatDate } from '../../format.ts';
import { ColumnHeads } from '../../parts/column-heads.tsx';
import { Field, Notice } from '../../parts/form.tsx';
import { createPagedList } from '../../parts/paged-list.ts';
import { Chip } from '../../parts/picture.tsx';
import { ShowMore } from '../../parts/show-more.tsx';
import { person, provenName, setPerson } from '../../session.ts';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';

const texts = finishesTexts.revisions;

/** The revisions of a finish: colour, date, person and changes of each. Also asks for the name to record from now on. */
export function Revisions({ finish, revision }: { readonly finish: string; readonly revision: number }) {
  const model = useMemo(() => createRevisionsModel(finish), [finish]);
  useEffect(() => void model.load(), [model, revision]);
  const rows = model.list.entries.value;
  return (
    <section class="finish-revisions">
      <h3>{texts.heading}</h3>
      {provenName.value === null && (
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
      )}
      <Notice text={model.problem.value}>
        <button type="button" onClick={model.load}>
          {commonTexts.tryAgain}
        </button>
      </Notice>
      {rows.length > 0 && (
        <div class="scroll">
          <table class="small">
            <ColumnHeads names={Object.values(texts.columns)} />
            <tbody>{rows.map(renderRow)}</tbody>
          </table>
        </div>
      )}
      <ShowMore list={model.list} what={texts.heading} />
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
  const list = createPagedList(`/api/finishes/${seg(finish)}/revisions`, (answer: FinishHistoryAnswer) =>
    listRows(answer),
  );
  const problem = signal<string | null>(null);

  async function load(): Promise<void> {
    try {
      await list.load();
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  return { list, problem, load };
}

const FIELD_NAMES: Readonly<Record<string, string>> = finishesTexts.fields;
const ARTICLE = 'article.';

type HistoryRow =
  | { readonly kind: 'revision'; readonly revision: FinishRevisionAnswer }
  | { readonly kind: 'event'; readonly event: EventEntry };

/** Revisions and the events between them, the latest first. */
export function listRows({ revisions, events }: Pick<FinishHistoryAnswer, 'revisions' | 'events'>): HistoryRow[] {
  return revisions.flatMap((revision) => [
    ...events
      .filter((event) => event.revision === revision.revision)
      .map((event): HistoryRow => ({ kind: 'event', event })),
    { kind: 'revision', revision },
  ]);
}

/** The origin of a revision; the first one of a finish is marked as new. */
export function describeOrigin({ how, starts }: FinishRevisionAnswer): string {
  return starts && how !== 'known' ? texts.newFinish(texts.ways[how]) : texts.ways[how];
}

export function describeEvent({ what, line, replacedBy }: EventEntry): string {
  return what === 'deleted' ? texts.deleted : texts.discontinued(line!, replacedBy);
}

/** `name: Tarn → Tarn blue`; `gloss at 60°: 35 (added)`; `note: removed, was …`. Stored files are not named. */
export function describeDifference({ field, ...sides }: Difference): string {
  const name = nameField(field);
  const [isAdded, isRemoved] = [!('before' in sides), !('after' in sides)];
  if (field === 'supplied' || isDigest(sides.before) || isDigest(sides.after)) {
    return texts.fileChanged(name, isAdded ? 'added' : isRemoved ? 'removed' : 'replaced');
  }
  const [before, after] = [formatValue(field, sides.before), formatValue(field, sides.after)];
  if (isAdded) return texts.added(name, after);
  return isRemoved ? texts.removed(name, before) : texts.changed(name, before, after);
}

function nameField(field: string): string {
  if (field.startsWith(ARTICLE)) return texts.ofArticle(nameField(field.slice(ARTICLE.length)));
  if (FIELD_NAMES[field]) return FIELD_NAMES[field];
  const [first, ...rest] = field.split('.').map((part) => FIELD_NAMES[part] ?? splitCamelCase(part));
  return [first!, ...rest].join(', ');
}

function splitCamelCase(key: string): string {
  return key.replace(/([a-z])([A-Z])/g, (_, a, b) => `${a} ${b.toLowerCase()}`);
}

function formatValue(field: string, value: unknown): string {
  if (value === undefined) return '';
  if (value === null) return texts.none;
  if (field === 'colour') return formatColour(value as ColourSpecification);
  if (isDigest(value)) return texts.file;
  if (Array.isArray(value)) {
    return value.length === 0 ? texts.none : value.map((each) => formatValue('', each)).join(', ');
  }
  if (typeof value === 'boolean') return value ? texts.yes : texts.no;
  if (typeof value === 'object') {
    return Object.entries(value)
      .map(([key, each]) => `${nameField(key)} ${formatValue('', each)}`)
      .join(', ');
  }
  return String(value);
}

function isDigest(value: unknown): boolean {
  return typeof value === 'string' && /^[0-9a-f]{64}$/.test(value);
}
