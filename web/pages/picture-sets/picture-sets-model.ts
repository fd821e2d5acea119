import { computed, signal } from '@preact/signals';
import type { PictureSetAnswer, PictureSetListAnswer } from '../../../server/http/contracts/picture-set.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { createChanges } from '../../parts/conflict.tsx';
import { pictureSetsTexts as texts } from '../../texts/pictures.ts';
import { NEW_SET, readForm, type SetForm, toBody, toForm } from './set-form.ts';

const PATH = '/api/picture-sets';

/** The list of picture sets, and the form of the one that is open. */
export function createPictureSetsModel() {
  const sets = signal<readonly PictureSetAnswer[] | null>(null);
  /** Code of the open set; empty for a new one, null for none. */
  const open = signal<string | null>(null);
  const form = signal<SetForm>(NEW_SET);
  const problem = signal<string | null>(null);
  const formProblem = signal<string | null>(null);
  /** The result of the last change, as a sentence. */
  const outcome = signal<string | null>(null);
  const busy = signal(false);
  let tags: PictureSetListAnswer['tags'] = {};
  /** The tag of the set in the form as it was opened; null for a new one. */
  let openedTag: string | null = null;
  const toTag = (code: string) => `"${tags[code]}"`;
  const changes = createChanges(reopen);
  const read = computed(() => readForm(form.value));

  async function load(): Promise<void> {
    try {
      const answer = await get<PictureSetListAnswer>(PATH);
      sets.value = answer.sets;
      tags = answer.tags;
      problem.value = null;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function show(code: string | null, next: SetForm): void {
    open.value = code;
    form.value = next;
    openedTag = code ? toTag(code) : null;
    formProblem.value = null;
    changes.clear();
    outcome.value = null;
  }

  /** Shows the open set as it is stored, or closes the form of one that was deleted. */
  async function reopen(): Promise<void> {
    const code = open.value;
    await load();
    const stored = sets.value?.find((set) => set.code === code);
    if (stored) show(stored.code, toForm(stored));
    else show(null, NEW_SET);
  }

  async function attempt(work: (ifMatch: string | null | undefined) => Promise<string>): Promise<void> {
    busy.value = true;
    formProblem.value = null;
    await changes.attempt(async (overwrite) => {
      const message = await work(overwrite ? undefined : openedTag);
      await load();
      show(null, NEW_SET);
      outcome.value = message;
    });
    busy.value = false;
  }

  return {
    sets,
    open,
    form,
    read,
    problem,
    formProblem,
    outcome,
    busy,
    changes,
    load,
    openSet: (set: PictureSetAnswer) => (open.value === set.code ? show(null, NEW_SET) : show(set.code, toForm(set))),
    openNew: () => (open.value === '' ? show(null, NEW_SET) : show('', NEW_SET)),
    /** Opens a new set with the values of the open one. */
    copy: () => show('', { ...form.value, code: '', name: '' }),
    close: () => show(null, NEW_SET),
    change(part: Partial<SetForm>): void {
      form.value = { ...form.value, ...part };
      formProblem.value = null;
      changes.clear();
    },
    save: () =>
      attempt(async (ifMatch) => {
        const { code, name } = form.value;
        if (open.value === '' && sets.value?.some((set) => set.code.toLowerCase() === code.toLowerCase())) {
          throw new Error(texts.codeTaken(code));
        }
        await call('PUT', `${PATH}/${seg(code)}`, { json: toBody(form.value), ifMatch });
        return texts.saved(name.trim());
      }),
    remove: (set: PictureSetAnswer) =>
      attempt(async (ifMatch) => {
        await call('DELETE', `${PATH}/${seg(set.code)}`, { ifMatch });
        return set.replacesReady ? texts.restored : texts.deleted(set.name);
      }),
  };
}

export type PictureSetsModel = ReturnType<typeof createPictureSetsModel>;
