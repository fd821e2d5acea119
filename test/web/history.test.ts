import { describe, expect, it } from 'vitest';
import { createHistory } from '../../web/pages/product/bench/history.ts';

// Undo and redo as people know them from every editor: last in, first out; a new step ends what could be redone.

function createCounter(history = createHistory()) {
  let value = 0;
  const set = (next: number) => {
    const before = value;
    value = next;
    history.add({
      label: `set ${next}`,
      undo: () => {
        value = before;
      },
      redo: () => {
        value = next;
      },
    });
  };
  return { history, set, get: () => value };
}

describe('the history of a page', () => {
  it('goes back and forward, one step at a time', async () => {
    const { history, set, get } = createCounter();
    set(1);
    set(2);
    await history.undo();
    expect(get()).toBe(1);
    expect([history.nextUndo.value, history.nextRedo.value]).toEqual(['set 1', 'set 2']);
    await history.undo();
    await history.undo();
    expect(get()).toBe(0);
    expect(history.nextUndo.value).toBeNull();
    await history.redo();
    await history.redo();
    expect(get()).toBe(2);
    expect(history.nextRedo.value).toBeNull();
  });

  it('forgets what was undone once something new is done', async () => {
    const { history, set, get } = createCounter();
    set(1);
    await history.undo();
    set(5);
    expect(history.nextRedo.value).toBeNull();
    await history.undo();
    expect(get()).toBe(0);
  });

  it('keeps a step that could not be undone, and says why', async () => {
    const history = createHistory();
    let refuse = true;
    history.add({
      label: 'save',
      undo: async () => {
        if (refuse) throw new Error('The service does not answer.');
      },
      redo: () => {},
    });
    await history.undo();
    expect(history.problem.value).toBe('The service does not answer.');
    expect(history.nextUndo.value).toBe('save');
    refuse = false;
    await history.undo();
    expect(history.problem.value).toBeNull();
    expect(history.nextRedo.value).toBe('save');
  });

  it('undoes one step at a time, however fast the key repeats', async () => {
    const history = createHistory();
    let calls = 0;
    history.add({
      label: 'a',
      undo: async () => {
        calls++;
        await Promise.resolve();
      },
      redo: () => {},
    });
    await Promise.all([history.undo(), history.undo()]);
    expect(calls).toBe(1);
    expect(history.nextUndo.value).toBeNull();
  });

  it('forgets a step that is being undone while something new is done', async () => {
    const history = createHistory();
    let go = () => {};
    history.add({
      label: 'old',
      undo: () =>
        new Promise<void>((resolve) => {
          go = resolve;
        }),
      redo: () => {},
    });
    const undoing = history.undo();
    history.add({ label: 'new', undo: () => {}, redo: () => {} });
    go();
    await undoing;
    expect([history.nextUndo.value, history.nextRedo.value]).toEqual(['new', null]);
  });

  it('keeps no more than the newest steps', async () => {
    const { history, set, get } = createCounter(createHistory(3));
    for (let n = 1; n <= 10; n++) set(n);
    for (let n = 0; n < 10; n++) await history.undo();
    expect(get()).toBe(7);
  });
});
