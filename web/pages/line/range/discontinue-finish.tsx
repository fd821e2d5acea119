import { signal } from '@preact/signals';
import type { RangeEntry } from '../../../../server/core/line/line.ts';
import type { DiscontinueAnswer, WhereUsedAnswer } from '../../../../server/http/contracts/line.ts';
import { ApiProblem, call, get, getErrorMessage, seg } from '../../../api.ts';
import { type CarriedStep, carryStep, dropCarriedStep } from '../../../parts/carried-steps.ts';
import { Field, Notice, Select } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineModel } from '../line-model.ts';
import type { LineWrites } from '../line-writes.ts';
import { type DiscontinueDescription, describeDiscontinue } from './describe-range.ts';
import { type Discontinued, readSchedules, readTurned, undoDiscontinue } from './undo-discontinue.ts';

const texts = lineTexts.discontinue;

/** Discontinuing a finish: its uses, its replacement, the preview, and the outcome. */
export function createDiscontinueModel(
  linePath: string,
  entry: RangeEntry,
  { decide }: Pick<LineWrites, 'decide'>,
  onChanged: () => Promise<void>,
) {
  const { finish } = entry;
  /** Empty for no replacement. */
  const replacedBy = signal('');
  const answer = signal<DiscontinueAnswer | null>(null);
  const uses = signal<WhereUsedAnswer | null>(null);
  const busy = signal(false);
  const problem = signal<string | null>(null);
  /** The discontinuation that was just made. */
  const made = signal<CarriedStep | null>(null);
  /** Says that it was taken back. */
  const undone = signal<string | null>(null);

  async function loadUses(): Promise<void> {
    try {
      uses.value = await get<WhereUsedAnswer>(`/api/finishes/${seg(finish)}/where-used`);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  /** Chooses the replacement; the preview of another one no longer applies. */
  function pick(code: string): void {
    replacedBy.value = code;
    answer.value = null;
    problem.value = null;
  }

  async function send(preview: boolean): Promise<void> {
    busy.value = true;
    problem.value = null;
    undone.value = null;
    try {
      const json = { finish, preview, ...(replacedBy.value && { replacedBy: replacedBy.value }) };
      const before = await readSchedules(preview ? [] : (answer.value?.products ?? []).map(({ product }) => product));
      const { data } = await decide((tag) =>
        call<DiscontinueAnswer>('POST', `${linePath}/discontinue`, { json, ifMatch: preview ? undefined : tag }),
      );
      answer.value = data;
      if (preview) return;
      const turned = await readTurned(before);
      made.value = carry({ path: linePath, entry: data.range.from, schedules: turned }, json);
      await Promise.all([onChanged(), loadUses()]);
    } catch (error) {
      answer.value = null;
      // the line has changed, so the user needs a new preview
      if (error instanceof ApiProblem && error.code === 'stale-line') await onChanged();
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  async function undo(): Promise<void> {
    const step = made.value;
    if (!step) return;
    busy.value = true;
    problem.value = null;
    try {
      dropCarriedStep(step);
      made.value = null;
      await step.undo();
      answer.value = null;
      undone.value = texts.undone(finish);
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
      await Promise.all([onChanged(), loadUses()]);
    }
  }

  return { finish, replacedBy, answer, uses, busy, problem, made, undone, loadUses, pick, send, undo };
}

/** Lets the benches of the products take a discontinuation back as well. */
function carry(done: Discontinued, json: { readonly finish: string; readonly preview: boolean }): CarriedStep {
  const step: CarriedStep = {
    label: texts.step(json.finish),
    products: done.schedules.map(({ product }) => product),
    undo: () => undoDiscontinue(done),
    redo: async () => {
      await call('POST', `${done.path}/discontinue`, { json });
    },
  };
  carryStep(step);
  return step;
}

type DiscontinueModel = ReturnType<typeof createDiscontinueModel>;

interface DiscontinueFinishProps {
  readonly model: LineModel;
  readonly entry: RangeEntry;
  readonly discontinue: DiscontinueModel;
}

/** Discontinues a finish after a preview. */
export function DiscontinueFinish({ model, entry, discontinue }: DiscontinueFinishProps) {
  const { answer, busy, replacedBy } = discontinue;
  const done = answer.value !== null && !answer.value.preview;
  const replacements = model.line.value!.range.filter(
    ({ finish, status }) => finish !== entry.finish && status !== 'discontinued',
  );
  return (
    <div class="leaving">
      {entry.status !== 'discontinued' && (
        <>
          <h3>{texts.heading}</h3>
          <p class="small soft measure">{texts.note}</p>
          <div class="actions">
            <Field inline name={lineTexts.entry.replacement}>
              <Select
                label={lineTexts.entry.replacement}
                value={replacedBy.value}
                options={[
                  ['', commonTexts.none],
                  ...replacements.map(
                    ({ finish }) => [finish, lineTexts.entry.nameAndCode(model.nameOf(finish), finish)] as const,
                  ),
                ]}
                onPick={discontinue.pick}
              />
            </Field>
            <button type="button" disabled={busy.value} onClick={() => void discontinue.send(true)}>
              {texts.preview}
            </button>
            {answer.value?.preview && (
              <button type="button" class="main" disabled={busy.value} onClick={() => void discontinue.send(false)}>
                {texts.confirm(entry.finish)}
              </button>
            )}
          </div>
        </>
      )}
      <Notice text={discontinue.problem.value} />
      {discontinue.undone.value !== null && <p role="status">{discontinue.undone.value}</p>}
      {answer.value && <Outcome outcome={describeDiscontinue(answer.value)} done={done} />}
      {discontinue.made.value && (
        <p class="actions">
          <button type="button" disabled={busy.value} onClick={() => void discontinue.undo()}>
            {texts.undo(entry.finish)}
          </button>
        </p>
      )}
    </div>
  );
}

function Outcome({ outcome, done }: { readonly outcome: DiscontinueDescription; readonly done: boolean }) {
  return (
    <div class="outcome arrives" role="status">
      <p class="measure strong">{outcome.lead}</p>
      {outcome.products.map(({ product, reminted, withdrawn, summary }) => (
        <div key={product}>
          <p>
            <span class="strong">{product}</span> <span class="soft">{summary}</span>
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
                <span class="code">{code}</span> {texts.withdrawn(done)}: {detail}
              </li>
            ))}
          </ul>
        </div>
      ))}
      {outcome.due.length > 0 && (
        <ul>
          {outcome.due.map((sentence) => (
            <li key={sentence}>{sentence}</li>
          ))}
        </ul>
      )}
    </div>
  );
}
