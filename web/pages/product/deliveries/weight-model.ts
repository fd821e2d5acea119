import { batch, computed, signal } from '@preact/signals';
import type { GeometryForm, TextureForm } from '../../../../server/core/delivery/compressed-form.ts';
import type { DeliveryAnswer } from '../../../../server/http/contracts/delivery.ts';
import type { WeightAnswer } from '../../../../server/http/contracts/delivery-weight.ts';
import type { JobAnswer } from '../../../../server/http/contracts/job.ts';
import { call, get, getErrorMessage, seg } from '../../../api.ts';
import { followJob, type JobProgress } from '../../../parts/jobs.ts';
import { pictureJobTexts } from '../../../texts/pictures.ts';

/** The weight of a delivery, and its compressed forms. */
export function createWeightModel(product: string) {
  const path = `/api/products/${seg(product)}/deliveries`;
  const weight = signal<WeightAnswer | null>(null);
  const files = signal<DeliveryAnswer['files']>([]);
  const geometry = signal<GeometryForm | 'none'>('none');
  const textures = signal<TextureForm | 'none'>('none');
  const job = signal<JobProgress | null>(null);
  const problem = signal<string | null>(null);
  const form = computed(() => [geometry.value, textures.value].filter((part) => part !== 'none').join('-'));

  async function show(delivery: number): Promise<void> {
    problem.value = null;
    try {
      const [weighed, answer] = await Promise.all([
        get<WeightAnswer>(`${path}/${delivery}/weight`),
        get<DeliveryAnswer>(`${path}/${delivery}`),
      ]);
      batch(() => {
        weight.value = weighed;
        files.value = answer.files.filter((file) => file.form.startsWith('forms/'));
      });
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  /** @param onDelivered called when the service delivered first */
  async function make(names: 'name' | 'code', onDelivered: () => Promise<void>): Promise<void> {
    problem.value = null;
    try {
      const json = { names, forms: [form.value] };
      const { data } = await call<DeliveryAnswer>('POST', path, { json });
      if (!data.unchanged) await onDelivered();
      if (data.job === undefined) return await show(data.delivery);
      const started = await get<JobAnswer>(data.job);
      job.value = started;
      followJob(started.id, {
        onEvent({ arrived: _, ...progress }) {
          job.value = progress;
        },
        onEnd() {
          void show(data.delivery);
        },
        onConnectionLost() {
          problem.value = pictureJobTexts.connectionLost;
        },
      });
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  return { weight, files, geometry, textures, form, job, problem, show, make };
}
