import { useEffect, useMemo } from 'preact/hooks';
import { type Approval, DECISIONS, LIGHTS, SHOWN } from '../../../server/core/approval/approval.ts';
import type { ApprovalsAnswer } from '../../../server/http/contracts/approval.ts';
import { formatDate, formatKey } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import { createApprovalsModel } from './approvals-model.ts';

const LIGHT_NAMES = { D65: 'D65, daylight', A: 'A, lamp light', F11: 'F11, shop light' } as const;
const SHOWN_NAMES = { screen: 'on a screen', sample: 'against the sample' } as const;

/** Where a finish stands, who decided what under which light, and the next decision. */
export function Approvals({ finish, revision }: { readonly finish: string; readonly revision: number }) {
  const model = useMemo(() => createApprovalsModel(finish), [finish]);
  // a changed finish may have made an approval lapse, or stand again
  useEffect(() => void model.load(), [model, revision]);
  const answer = model.answer.value;
  const form = model.form.value;
  return (
    <section class="approvals">
      <h3>Approval</h3>
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
          void model.record();
        }}
      >
        <Field name="Decision">
          <Select
            label="Decision"
            value={form.decision}
            options={DECISIONS.map((decision) => [decision, formatKey(decision)] as const)}
            onPick={(decision) => model.change({ decision })}
          />
        </Field>
        <Field name="By whom">
          <input
            value={form.person}
            required
            onInput={(event) => model.change({ person: event.currentTarget.value })}
          />
        </Field>
        <Field name="Under which light">
          <Select
            label="Under which light"
            value={form.light}
            options={LIGHTS.map((light) => [light, LIGHT_NAMES[light]] as const)}
            onPick={(light) => model.change({ light })}
          />
        </Field>
        <Field name="Seen">
          <Select
            label="Seen"
            value={form.shown}
            options={SHOWN.map((shown) => [shown, SHOWN_NAMES[shown]] as const)}
            onPick={(shown) => model.change({ shown })}
          />
        </Field>
        <Field name={form.decision === 'rejected' ? 'Reason' : 'Reason; may be left empty'}>
          <input value={form.reason} onInput={(event) => model.change({ reason: event.currentTarget.value })} />
        </Field>
        <div class="actions whole">
          <button type="submit" disabled={model.busy.value}>
            Record the decision
          </button>
        </div>
        <div class="whole">
          <Notice text={model.trouble.value} />
          {answer && <p class="small soft measure">{answer.caution}</p>}
        </div>
      </form>
    </section>
  );
}

function describeStanding({ state, round, lapsedBecause }: ApprovalsAnswer): string {
  if (state === 'none') return 'Nobody has decided on it yet.';
  if (state === 'lapsed') return `The decision of round ${round} has lapsed. ${lapsedBecause}`;
  return `${formatKey(state)}, round ${round}.`;
}

function describeApproval({ decision, round, person, reason, light, shown, at }: Approval): string {
  const why = reason ? `: ${reason}` : '';
  return `Round ${round}, ${formatDate(at)}: ${decision} by ${person}, ${SHOWN_NAMES[shown]} under ${light}${why}`;
}
