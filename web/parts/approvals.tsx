import { signal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import {
  type Approval,
  DECISIONS,
  type Decision,
  LIGHTS,
  type Light,
  SHOWN,
  type Shown,
} from '../../server/core/approval/approval.ts';
import type { ApprovalsAnswer } from '../../server/http/contracts/approval.ts';
import { call, get, getErrorMessage } from '../api.ts';
import { formatDate } from '../format.ts';
import { person, provenName } from '../session.ts';
import { approvalTexts as texts } from '../texts/approvals.ts';
import { Field, Notice, Select } from './form.tsx';

interface DecisionForm {
  readonly decision: Decision;
  readonly person: string;
  readonly reason: string;
  readonly light: Light;
  readonly shown: Shown;
}

const NEW: DecisionForm = { decision: 'submitted', person: '', reason: '', light: 'D65', shown: 'sample' };

interface ApprovalsProps {
  /** Path of the decisions: that of a finish or of a variant, with `/approvals` at its end. */
  readonly path: string;
  /** Changes with everything that may make an approval lapse, or restore it. */
  readonly revision: number | string;
  readonly onRecord?: () => void;
}

/** The approval state of a finish or a variant, its decisions, and the form for the next decision. */
export function Approvals({ path, revision, onRecord }: ApprovalsProps) {
  const model = useMemo(() => createApprovalsModel(path), [path]);
  useEffect(() => void model.load(), [model, revision]);
  const answer = model.answer.value;
  const form = model.form.value;
  return (
    <section class="approvals">
      <h3>{texts.heading}</h3>
      {answer && <p>{describeStanding(answer)}</p>}
      {answer && answer.approvals.length > 0 && (
        <ol class="small">
          {answer.approvals.map((approval) => (
            <li key={approval.at}>{describeApproval(approval)}</li>
          ))}
        </ol>
      )}
      <form
        class="form no-print"
        onSubmit={(event) => {
          event.preventDefault();
          void model.record().then(onRecord);
        }}
      >
        <Field name={texts.decision}>
          <Select
            label={texts.decision}
            value={form.decision}
            options={DECISIONS.map((decision) => [decision, texts.decisions[decision]] as const)}
            onPick={(decision) => model.change({ decision })}
          />
        </Field>
        <Field name={texts.person}>
          <input
            value={provenName.value ?? form.person}
            required
            readOnly={provenName.value !== null}
            onInput={(event) => model.change({ person: event.currentTarget.value })}
          />
        </Field>
        <Field name={texts.light}>
          <Select
            label={texts.light}
            value={form.light}
            options={LIGHTS.map((light) => [light, texts.lights[light]] as const)}
            onPick={(light) => model.change({ light })}
          />
        </Field>
        <Field name={texts.viewed}>
          <Select
            label={texts.viewed}
            value={form.shown}
            options={SHOWN.map((shown) => [shown, texts.views[shown]] as const)}
            onPick={(shown) => model.change({ shown })}
          />
        </Field>
        <Field name={form.decision === 'rejected' ? texts.reason : texts.optionalReason}>
          <input value={form.reason} onInput={(event) => model.change({ reason: event.currentTarget.value })} />
        </Field>
        <div class="actions whole">
          <button type="submit" disabled={model.busy.value}>
            {texts.record}
          </button>
        </div>
        <div class="whole">
          <Notice text={model.problem.value} />
          {answer && <p class="small soft measure">{answer.caution}</p>}
        </div>
      </form>
    </section>
  );
}

function createApprovalsModel(path: string) {
  const answer = signal<ApprovalsAnswer | null>(null);
  const form = signal<DecisionForm>({ ...NEW, person: person.value });
  const problem = signal<string | null>(null);
  const busy = signal(false);

  async function run(work: () => Promise<ApprovalsAnswer>): Promise<void> {
    busy.value = true;
    try {
      answer.value = await work();
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  return {
    answer,
    form,
    problem,
    busy,
    load: () => run(() => get<ApprovalsAnswer>(path)),
    record: () =>
      run(async () => {
        const { reason, ...rest } = form.value;
        const proven = provenName.value !== null && { person: provenName.value };
        const json = { ...rest, ...proven, ...(reason.trim() !== '' && { reason: reason.trim() }) };
        const { data } = await call<ApprovalsAnswer>('POST', path, { json });
        form.value = { ...form.value, reason: '' };
        return data;
      }),
    change: (part: Partial<DecisionForm>) => {
      form.value = { ...form.value, ...part };
    },
  };
}

function describeStanding({ state, round, lapsedBecause }: ApprovalsAnswer): string {
  if (state === 'none') return texts.none;
  if (state === 'lapsed') return texts.lapsed(round, lapsedBecause ?? '');
  return texts.standing(texts.decisions[state], round);
}

function describeApproval({ decision, round, person, reason, light, shown, at }: Approval): string {
  return texts.entry({
    round,
    date: formatDate(at),
    decision: texts.decisions[decision],
    person,
    viewed: texts.views[shown],
    light,
    reason,
  });
}
