import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { createHistory } from '../../../web/pages/product/bench/history.ts';
import { addRow, setChoice, setName } from '../../../web/pages/product/schedule/schedule-draft.ts';
import { createScheduleModel } from '../../../web/pages/product/schedule/schedule-model.ts';
import { scheduleTexts } from '../../../web/texts/product-schedule.ts';
import { addProduct, putLineOfFinishes } from '../../support/job.ts';
import { readRegistryModel } from '../../support/registry-models.ts';
import { startService, type TestService } from '../../support/start-service.ts';
import { stubPage } from '../../support/stub-page.ts';

// What happens to edits that are made while a schedule is saved, against a real service.

let service: TestService;
let slot: string;
/** Runs after the service has answered a PUT, and before the page knows. */
let meanwhile: (() => void) | null = null;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [slot] = (await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'))) as [string];
  stubPage(service, (method) => {
    if (method !== 'PUT') return;
    const now = meanwhile;
    meanwhile = null;
    now?.();
  });
});
afterAll(async () => {
  vi.unstubAllGlobals();
  await service.close();
});

const path = '/api/products/GO/schedule';
const readNames = async () =>
  (await service.call('GET', path)).body.variants.map(({ name }: { name: string }) => name) as string[];
const putNames = async (first: string, second: string) => {
  const choices = { [slot]: 'COAL_4' };
  const variants = [
    { code: 'A', name: first, choices },
    { code: 'B', name: second, choices },
  ];
  expect((await service.call('PUT', path, { default: 'A', variants })).status).toBeLessThan(300);
};
async function open(create = createScheduleModel) {
  const history = createHistory();
  const model = create('GO', () => undefined, history);
  await model.load();
  const names = () => model.draft.value.rows.map(({ name }) => name);
  const name = (at: number, text: string) => model.edit((draft) => setName(draft, draft.rows[at]!.key, text));
  return { ...model, history, names, name };
}

beforeEach(async () => {
  await putNames('One', 'Two');
});

describe('edits while a save is under way', () => {
  it('stay, as not saved yet, and undo leads back over them', async () => {
    const model = await open();
    model.name(0, 'First');
    meanwhile = () => model.name(1, 'Second');
    await model.save();
    expect(model.names()).toEqual(['First', 'Second']);
    expect([...model.changes.value.rows.values()]).toEqual(['saved', 'changed']);
    expect(await readNames()).toEqual(['First', 'Two']);
    await model.history.undo();
    expect(await readNames()).toEqual(['One', 'Two']);
    expect(model.names()).toEqual(['First', 'Second']);
    await model.history.redo();
    expect(await readNames()).toEqual(['First', 'Two']);
    expect(model.names()).toEqual(['First', 'Second']);
    await model.save();
    expect(await readNames()).toEqual(['First', 'Second']);
    model.close();
  });

  it('stay when undo stores the earlier version again', async () => {
    const model = await open();
    model.name(0, 'First');
    await model.save();
    meanwhile = () => model.edit((draft) => setChoice(draft, draft.rows[1]!.key, slot, null));
    await model.history.undo();
    expect(await readNames()).toEqual(['One', 'Two']);
    expect(model.names()).toEqual(['First', 'Two']);
    expect(model.draft.value.rows[1]!.choices).toEqual({});
    model.close();
  });

  it('stay when someone else saved in the meantime', async () => {
    const model = await open();
    model.name(0, 'First');
    await putNames('One', 'Theirs');
    meanwhile = () => model.edit((draft) => setChoice(draft, draft.rows[0]!.key, slot, null));
    await model.save();
    expect(model.names()).toEqual(['First', 'Theirs']);
    expect(model.draft.value.rows[0]!.choices).toEqual({});
    model.close();
  });
});

describe('a draft that the browser keeps', () => {
  const kept = new Map<string, string>();
  beforeEach(() => {
    kept.clear();
    vi.stubGlobal('localStorage', {
      getItem: (key: string) => kept.get(key) ?? null,
      setItem: (key: string, text: string) => kept.set(key, text),
      removeItem: (key: string) => kept.delete(key),
      key: (at: number) => [...kept.keys()][at],
      get length() {
        return kept.size;
      },
    });
  });
  afterEach(() => kept.clear());
  const areKept = (drafts: number) => vi.waitFor(() => expect(kept.size).toBe(drafts));
  const isKept = () => areKept(1);
  /** The pages as another tab loads them. */
  const openTab = async () => {
    vi.resetModules();
    return (await import('../../../web/pages/product/schedule/schedule-model.ts')).createScheduleModel;
  };

  it('of another tab stays when a tab without edits closes', async () => {
    const [mine, second] = [await open(), await open(await openTab())];
    mine.name(0, 'First');
    await isKept();
    second.close();
    expect(kept.size).toBe(1);
    mine.history.undo();
    await vi.waitFor(() => expect(kept.size).toBe(0));
    mine.close();
  });

  it('goes when the tab that restored it has saved it', async () => {
    const mine = await open();
    mine.name(0, 'First');
    mine.close();
    await isKept();
    const next = await open(await openTab());
    expect(next.names()).toEqual(['First', 'Two']);
    expect(next.restored.value).not.toBeNull();
    await next.save();
    next.close();
    expect([kept.size, await readNames()]).toEqual([0, ['First', 'Two']]);
  });

  it('is one for each tab, and those of closed tabs come back one after another', async () => {
    const [mine, second] = [await open(), await open(await openTab())];
    mine.name(0, 'First');
    await isKept();
    // a tab that opens beside them has its own edits only
    const third = await open(await openTab());
    expect(third.names()).toEqual(['One', 'Two']);
    second.name(1, 'Second');
    await areKept(2);
    mine.close();
    second.close();
    third.close();
    const next = await open(await openTab());
    const one = [
      ['One', 'Second'],
      ['First', 'Two'],
    ];
    expect(one).toContainEqual(next.names());
    await next.save();
    await vi.waitFor(() => expect(next.names()).toEqual(['First', 'Second']));
    expect(next.restored.value).not.toBeNull();
    await next.save();
    next.close();
    expect(await readNames()).toEqual(['First', 'Second']);
    expect(kept.size).toBe(0);
  });

  it('brings an open conflict back', async () => {
    const mine = await open();
    mine.name(0, 'Mine');
    await putNames('Theirs', 'Two');
    await mine.save();
    expect(mine.conflict.value?.clashes).toHaveLength(1);
    mine.name(1, 'Second');
    mine.close();
    await isKept();
    const next = await open(await openTab());
    expect(next.names()).toEqual(['Mine', 'Second']);
    expect(next.conflict.value?.clashes).toMatchObject([{ base: 'One', mine: 'Mine', theirs: 'Theirs' }]);
    expect(await next.save()).toBe(false);
    await next.resolve(new Set(next.conflict.value!.clashes.map(({ id }) => id)));
    next.close();
    expect(await readNames()).toEqual(['Theirs', 'Second']);
    expect(kept.size).toBe(0);
  });

  it('is that of the person who is signed in, and goes with the sign-out', async () => {
    const mine = await open();
    mine.name(0, 'First');
    await isKept();
    mine.close();
    const create = await openTab();
    const { session } = await import('../../../web/session.ts');
    const drafts = await import('../../../web/pages/product/schedule/kept-drafts.ts');
    session.value = { caller: { account: 'olga' } } as unknown as typeof session.value;
    const other = await open(create);
    expect(other.names()).toEqual(['One', 'Two']);
    other.name(1, 'Second');
    await areKept(2);
    other.close();
    expect(await drafts.countDrafts('olga')).toBe(1);
    await drafts.dropAllDrafts('olga');
    expect([await drafts.countDrafts('olga'), await drafts.countDrafts(null)]).toEqual([0, 1]);
  });
});

describe('the first schedule of a product', () => {
  beforeEach(async () => {
    await service.call('DELETE', path);
  });
  const isThere = async () => (await service.call('GET', path)).status === 200;

  it('is taken back by undo, to no schedule, and its rows stay as not saved', async () => {
    const model = await open();
    model.edit((draft) => addRow(draft));
    await model.save();
    expect(await readNames()).toEqual(['New variant']);
    await model.history.undo();
    expect(model.history.problem.value).toBeNull();
    expect(await isThere()).toBe(false);
    expect([...model.changes.value.rows.values()]).toEqual(['new']);
    await model.history.redo();
    expect(await readNames()).toEqual(['New variant']);
    expect(model.changes.value.any).toBe(false);
    model.close();
  });

  it('is not taken back where someone else changed it since', async () => {
    const model = await open();
    await model.addCheckSet('each-finish');
    expect(await isThere()).toBe(true);
    await model.history.undo();
    expect(await isThere()).toBe(false);
    expect(model.names()).toEqual([]);
    await model.history.redo();
    await putNames('Theirs', 'Two');
    await model.history.undo();
    expect(model.history.problem.value).toBe(scheduleTexts.undoMet);
    expect(await readNames()).toEqual(['Theirs', 'Two']);
    model.close();
  });
});

describe('a save', () => {
  it('that is asked for twice is sent once', async () => {
    const model = await open();
    model.name(0, 'First');
    let puts = 0;
    const count = () => {
      puts++;
      meanwhile = count;
    };
    meanwhile = count;
    expect(await Promise.all([model.save(), model.save()])).toEqual([true, true]);
    meanwhile = null;
    expect(puts).toBe(1);
    expect(model.conflict.value).toBeNull();
    model.close();
  });

  it('is refused while a conflict is open, as are undo and new variants', async () => {
    const model = await open();
    model.name(1, 'Second');
    await model.save();
    model.name(0, 'Mine');
    await putNames('Theirs', 'Second');
    await model.save();
    expect(model.conflict.value?.clashes).toHaveLength(1);
    expect(await model.save()).toBe(false);
    expect(model.problem.value).toBe(scheduleTexts.settleFirst);
    expect(await model.addCheckSet('each-finish')).toBe(false);
    await model.history.undo();
    await model.history.undo();
    expect(model.history.problem.value).toBe(scheduleTexts.settleFirst);
    expect(model.conflict.value).not.toBeNull();
    expect(await readNames()).toEqual(['Theirs', 'Second']);
    model.close();
  });

  it('after a conflict has the edits that were made while it was open', async () => {
    const model = await open();
    model.name(0, 'Mine');
    await putNames('Theirs', 'Two');
    await model.save();
    model.name(1, 'Second');
    await model.resolve(new Set(model.conflict.value!.clashes.map(({ id }) => id)));
    expect(model.problem.value).toBeNull();
    expect(await readNames()).toEqual(['Theirs', 'Second']);
    model.close();
  });
});
