import { batch, computed, type ReadonlySignal, signal } from '@preact/signals';
import type { DeliveryAnswer, ManifestAnswer } from '../../../../server/http/contracts/delivery.ts';
import { call, get, getErrorMessage, seg } from '../../../api.ts';

export type BundlePart = 'model' | 'variants' | 'parts' | 'samples' | 'usdz' | 'usd' | 'feed';
type SplitBy = 'article' | 'grade';

/** Variants that can be ticked at once; the others are found by typing. */
const SHOWN = 60;
/** Longer URLs are refused by many proxies. */
const LONGEST_QUERY = 6000;

/** The files of the newest delivery, and what a person picks of them. They load when a person opens them. */
export function createFilesModel(product: string, newest: ReadonlySignal<number | null>) {
  const path = computed(() => `/api/products/${seg(product)}/deliveries/${newest.value}`);
  const delivery = signal<DeliveryAnswer | null>(null);
  const manifest = signal<ManifestAnswer | null>(null);
  const problem = signal<string | null>(null);
  const busy = signal(false);
  /** Code of the variant for a file of its own; null is the default. */
  const one = signal<string | null>(null);
  const chosen = signal<ReadonlySet<string>>(new Set());
  const filter = signal('');
  const splitBy = signal<SplitBy>('article');
  const slot = signal('');
  const bundle = signal<ReadonlySet<BundlePart>>(new Set<BundlePart>(['model']));

  const variants = computed(() => manifest.value?.variants ?? []);
  const slots = computed(() => (manifest.value?.slots ?? []).filter(({ fixed }) => !fixed));
  const found = computed(() => {
    const words = filter.value.trim().toLowerCase();
    const fits = variants.value.filter(({ code, name }) => `${code} ${name}`.toLowerCase().includes(words));
    return { shown: fits.slice(0, SHOWN), more: Math.max(0, fits.length - SHOWN) };
  });
  const chosenQuery = computed(() =>
    variants.value
      .filter(({ code }) => chosen.value.has(code))
      .map(({ code }) => code)
      .join(','),
  );
  const parts = computed(() => (delivery.value?.files ?? []).filter(({ form }) => form.startsWith('parts/')));

  async function load(): Promise<void> {
    if (newest.value === null || delivery.value?.delivery === newest.value) return;
    problem.value = null;
    try {
      const [answer, listed] = await Promise.all([
        get<DeliveryAnswer>(path.value),
        get<ManifestAnswer>(`${path.value}/manifest.json`),
      ]);
      batch(() => {
        delivery.value = answer;
        manifest.value = listed;
        one.value = null;
        chosen.value = new Set();
      });
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  /** Reads the list again, for sizes that are known by now, and files that were made. */
  async function refresh(): Promise<void> {
    delivery.value = await get<DeliveryAnswer>(path.value);
  }

  async function split(): Promise<void> {
    busy.value = true;
    problem.value = null;
    try {
      const json = { splitBy: splitBy.value, ...(slot.value !== '' && { slot: slot.value }) };
      delivery.value = (await call<DeliveryAnswer>('POST', `${path.value}/split`, { json })).data;
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  const toggle = <T>(set: { value: ReadonlySet<T> }, value: T) => {
    const next = new Set(set.value);
    if (!next.delete(value)) next.add(value);
    set.value = next;
  };

  return {
    product,
    newest,
    path,
    delivery,
    manifest,
    problem,
    busy,
    one,
    chosen,
    filter,
    splitBy,
    slot,
    bundle,
    variants,
    slots,
    found,
    chosenQuery,
    isTooLong: computed(() => chosenQuery.value.length > LONGEST_QUERY),
    parts,
    load,
    refresh,
    split,
    toggleChosen: (code: string) => toggle(chosen, code),
    toggleBundle: (part: BundlePart) => toggle(bundle, part),
  };
}

export type FilesModel = ReturnType<typeof createFilesModel>;
