import { signal } from '@preact/signals';
import type { Finding } from '../../../../server/core/product/finding.ts';
import type { DeliveryAnswer, DeliveryListAnswer } from '../../../../server/http/contracts/delivery.ts';
import { ApiProblem, call, getErrorMessage, seg } from '../../../api.ts';
import { createPagedList } from '../../../parts/paged-list.ts';

type NamedBy = 'name' | 'code';

/** The deliveries of a product, and the findings of the latest. */
export function createDeliveriesModel(product: string) {
  const path = `/api/products/${seg(product)}/deliveries`;
  const list = createPagedList(path, (answer: DeliveryListAnswer) => answer.deliveries);
  const names = signal<NamedBy>('name');
  const busy = signal(false);
  const problem = signal<string | null>(null);
  /** Findings of the new delivery, or those that block it. */
  const findings = signal<readonly Finding[]>([]);
  const latest = signal<number | null>(null);

  async function deliver(): Promise<void> {
    busy.value = true;
    problem.value = null;
    findings.value = [];
    latest.value = null;
    try {
      const json = names.value === 'code' ? { names: 'code' } : {};
      const { data } = await call<DeliveryAnswer>('POST', path, { json });
      findings.value = data.findings;
      latest.value = data.delivery;
      await list.load();
    } catch (error) {
      problem.value = getErrorMessage(error);
      if (error instanceof ApiProblem) findings.value = (error.answer.findings ?? []) as readonly Finding[];
    } finally {
      busy.value = false;
    }
  }

  return { list, names, busy, problem, findings, latest, load: list.load, deliver };
}
