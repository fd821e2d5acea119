import type { RangeEntry } from '../../../../server/core/line/line.ts';
import { Field } from '../../../parts/field.tsx';
import { Notice } from '../../../parts/notice.tsx';
import { Select } from '../../../parts/select.tsx';
import type { LineModel } from '../line-model.ts';
import type { DiscontinueModel } from './discontinue-model.ts';
import { sayDiscontinue } from './say-uses.ts';

interface DiscontinuePartProps {
  readonly model: LineModel;
  readonly entry: RangeEntry;
  readonly leaving: DiscontinueModel;
}

/** Selling a finish no more, in one action that is said before it is done. */
export function DiscontinuePart({ model, entry, leaving }: DiscontinuePartProps) {
  const { answer, busy, replacedBy } = leaving;
  const done = answer.value !== null && !answer.value.preview;
  const successors = model.line.value!.range.filter(
    ({ finish, status }) => finish !== entry.finish && status !== 'discontinued',
  );
  return (
    <div class="leaving">
      {entry.status !== 'discontinued' && (
        <>
          <h3>Discontinue it</h3>
          <p class="small soft measure">
            Variants that wear it are withdrawn, or made anew with what takes its place, under codes of their own.
          </p>
          <div class="actions">
            <Field inline name="In its place">
              <Select
                label="What takes its place"
                value={replacedBy.value}
                options={[
                  ['', 'Nothing'],
                  ...successors.map(({ finish }) => [finish, `${model.nameOf(finish)}, ${finish}`] as const),
                ]}
                onPick={leaving.pick}
              />
            </Field>
            <button type="button" disabled={busy.value} onClick={() => void leaving.send(true)}>
              See what it would do
            </button>
            {answer.value?.preview && (
              <button type="button" class="main" disabled={busy.value} onClick={() => void leaving.send(false)}>
                Discontinue {entry.finish}
              </button>
            )}
          </div>
        </>
      )}
      <Notice text={leaving.trouble.value} />
      {answer.value && <Outcome words={sayDiscontinue(answer.value)} done={done} />}
    </div>
  );
}

function Outcome({ words, done }: { readonly words: ReturnType<typeof sayDiscontinue>; readonly done: boolean }) {
  return (
    <div class="outcome arrives" role="status">
      <p class="measure strong">{words.lead}</p>
      {words.products.map(({ product, reminted, withdrawn, after }) => (
        <div key={product}>
          <p>
            <span class="strong">{product}</span> <span class="soft">{after}</span>
          </p>
          <ul class="small">
            {reminted.map(({ from, to, name }) => (
              <li key={from}>
                <span class="code">
                  {from} → {to}
                </span>{' '}
                {name}
              </li>
            ))}
            {withdrawn.map(({ code, detail }) => (
              <li key={code}>
                <span class="code">{code}</span> {done ? 'withdrawn' : 'goes'}: {detail}
              </li>
            ))}
          </ul>
        </div>
      ))}
      {words.due.length > 0 && (
        <ul>
          {words.due.map((sentence) => (
            <li key={sentence}>{sentence}</li>
          ))}
        </ul>
      )}
    </div>
  );
}
