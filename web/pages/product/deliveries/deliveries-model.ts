import { batch, computed, signal } from '@preact/signals';
import type { Finding } from '../../../../server/core/product/finding.ts';
import type { ChangesAnswer, DeliveryAnswer, DeliveryListAnswer } from '../../../../server/http/contracts/delivery.ts';
import { ApiProblem, call, get, getErrorMessage, seg } from '../../../api.ts';
import { createPagedList } from '../../../parts/paged-list.ts';
import { createFilesModel } from './files-model.ts';

type NamedBy = 'name' | 'code';

/** The deliveries of a product, what differs since the last one, and the findings of a new one. */
export function createDeliveriesModel(product: string) {
  const path = `/api/products/${seg(product)}/deliveries`;
  const list = createPagedList(path, (answer: DeliveryListAnswer) => answer.deliveries);
  /** A withdrawn delivery sends no files. */
  const newest = computed(() => list.entries.value.find(({ withdrawn }) => !withdrawn)?.delivery ?? null);
  const files = createFilesModel(product, newest);
  /** Null until a person picks one: the next delivery then names its variants as the last one does. */
  const picked = signal<NamedBy | null>(null);
  /** What differs since the last delivery, which is made as it was; null before the first answer. */
  const pending = signal<ChangesAnswer | null>(null);
  /** The same for the picked names. */
  const pickedPending = signal<ChangesAnswer | null>(null);
  const names = computed<NamedBy>(() => picked.value ?? pending.value?.names ?? 'name');
  const shown = computed(() => pickedPending.value ?? pending.value);
  /** What the next delivery says of itself. */
  const note = signal('');
  /** The delivery that a person is about to withdraw, and why; null while nobody is. */
  const withdrawing = signal<{ readonly delivery: number; readonly reason: string } | null>(null);
  const busy = signal(false);
  const problem = signal<string | null>(null);
  /** Findings of the new delivery, or those that block it. */
  const findings = signal<readonly Finding[]>([]);
  const latest = signal<Pick<DeliveryAnswer, 'delivery' | 'unchanged'> | null>(null);
  let asked = 0;

  /** Of several answers, that to the last call counts. */
  async function loadPending(): Promise<void> {
    const call = ++asked;
    const standing = await get<ChangesAnswer>(`${path}/pending`);
    const other = picked.value !== null && picked.value !== standing.names && standing.since !== null;
    const chosen = other ? await get<ChangesAnswer>(`${path}/pending?names=${picked.value}`) : null;
    if (call !== asked) return;
    batch(() => {
      pending.value = standing;
      pickedPending.value = chosen;
    });
  }

  async function pick(name: NamedBy): Promise<void> {
    picked.value = name;
    try {
      await loadPending();
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  async function load(): Promise<void> {
    await Promise.all([list.load(), loadPending()]);
  }

  async function deliver(): Promise<void> {
    busy.value = true;
    problem.value = null;
    findings.value = [];
    latest.value = null;
    try {
      const said = note.value.trim();
      const json = { ...(names.value === 'code' && { names: 'code' }), ...(said !== '' && { note: said }) };
      const { data } = await call<DeliveryAnswer>('POST', path, { json });
      findings.value = data.unchanged ? [] : data.findings;
      latest.value = data;
      note.value = '';
      await load();
    } catch (error) {
      problem.value = getErrorMessage(error);
      if (error instanceof ApiProblem) findings.value = (error.answer.findings ?? []) as readonly Finding[];
    } finally {
      busy.value = false;
    }
  }

  /** Withdraws the delivery that a person has asked for and given a reason for. */
  async function withdraw(): Promise<void> {
    const asked = withdrawing.value;
    if (!asked || busy.value) return;
    busy.value = true;
    problem.value = null;
    try {
      await call('POST', `${path}/${asked.delivery}/withdraw`, { json: { reason: asked.reason } });
      withdrawing.value = null;
      latest.value = null;
      await load();
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  return {
    list,
    files,
    note,
    withdrawing,
    withdraw,
    names,
    pick,
    pending,
    shown,
    busy,
    problem,
    findings,
    latest,
    load,
    loadPending,
    deliver,
  };
}
