import { signal } from '@preact/signals';
import type { Decision, Light, Shown } from '../../../server/core/approval/approval.ts';
import type { ApprovalsAnswer } from '../../../server/http/contracts/approval.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { person } from '../../session.ts';

export interface DecisionForm {
  readonly decision: Decision;
  readonly person: string;
  readonly reason: string;
  readonly light: Light;
  readonly shown: Shown;
}

const NEW: DecisionForm = { decision: 'submitted', person: '', reason: '', light: 'D65', shown: 'sample' };

/** The decisions on one finish, and the next one as it is written. */
export function createApprovalsModel(finish: string) {
  const path = `/api/finishes/${seg(finish)}/approvals`;
  const answer = signal<ApprovalsAnswer | null>(null);
  const form = signal<DecisionForm>({ ...NEW, person: person.value });
  const trouble = signal<string | null>(null);
  const busy = signal(false);

  async function run(work: () => Promise<ApprovalsAnswer>): Promise<void> {
    busy.value = true;
    try {
      answer.value = await work();
      trouble.value = null;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  const load = () => run(() => get<ApprovalsAnswer>(path));

  const record = () =>
    run(async () => {
      const { reason, ...rest } = form.value;
      const json = { ...rest, ...(reason.trim() !== '' && { reason: reason.trim() }) };
      const { data } = await call<ApprovalsAnswer>('POST', path, { json });
      form.value = { ...form.value, reason: '' };
      return data;
    });

  return {
    answer,
    form,
    trouble,
    busy,
    load,
    record,
    change: (part: Partial<DecisionForm>) => {
      form.value = { ...form.value, ...part };
    },
  };
}
