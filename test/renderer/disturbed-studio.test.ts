import { describe, expect, it } from 'vitest';
import { createRenderer } from '../../renderer/create-renderer.ts';
import type { Usage } from '../../renderer/read-usage.ts';
import { Frozen, watchWork } from '../../renderer/watch-browser.ts';
import { isBusyNow } from '../../server/actions/retry-while-busy.ts';
import { listBrowserProcesses } from '../support/browser-processes.ts';
import { DISTURBANCES, disturbStudio } from '../support/disturb-studio.ts';
import { refusalOf } from '../support/refusal.ts';
import { buildStudio, findBrowser, NO_SANDBOX, openTestSession } from './built-studio.ts';
import { writeFinishGlb } from './models.ts';

/** Renders that are disturbed. `npm run faults:studio` is the long form. */
const COUNT = DISTURBANCES.length;

describe('a browser that is killed or frozen in the middle of a render', () => {
  it(`is replaced, and the picture is the same, ${COUNT} times`, { timeout: 60_000 + COUNT * 60_000 }, async () => {
    const { renders, replaced, left } = await disturbStudio(COUNT);
    expect(renders).toBe(COUNT);
    // a disturbance that comes just after its picture may be found only with the next
    expect(replaced).toBeGreaterThanOrEqual(COUNT / 2);
    expect(left).toEqual([]);
  });

  it('twice, is a refusal that says so, with a time to try again, and no job tries again', {
    timeout: 120_000,
  }, async () => {
    const pids: number[] = [];
    const kill = (pid: number) =>
      listBrowserProcesses(pid).forEach(
        (each) => void (each.kind === 'gpu-process' && process.kill(each.pid, 'SIGSTOP')),
      );
    const renderer = createRenderer({
      browserPath: findBrowser(),
      studioFolder: await buildStudio(),
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      log: (_, details) => {
        if (typeof details?.pid !== 'number') return;
        pids.push(details.pid);
        kill(details.pid);
      },
    });
    const kit = await writeFinishGlb([0.2, 0.4, 0.6]);
    const problem = await refusalOf(() => renderer.takeSphere({ key: 'a', kit, sizePx: 64, ground: 'white' }));
    expect([problem.code, problem.kind, isBusyNow(problem)]).toEqual(['renderer-frozen', 'busy', false]);
    expect(pids).toHaveLength(2);
    // a killed process needs a moment to end
    for (const pid of pids) await expect.poll(() => listBrowserProcesses(pid), { timeout: 20_000 }).toEqual([]);
    await renderer.close();
  });
});

describe('a page in an endless loop', () => {
  it('is noticed although it works without a pause', { timeout: 120_000 }, async () => {
    const session = await openTestSession();
    try {
      const [page] = await session.browser.pages();
      // a task of its own, so that the call itself returns
      await page!.evaluate('void setTimeout(() => { for (;;); })');
      const facts = session.watch(session.call('getFacts'), { spinMs: 300 });
      await expect(facts).rejects.toThrow(/calculated for [\d.]+ s without an answer/);
    } finally {
      await session.end(true);
    }
  });
});

describe('watching a browser', () => {
  const endless = new Promise<never>(() => undefined);
  const calm = async () => false;
  /** Usages look by look; the last one stays. */
  const replay = (usages: readonly Usage[]) => {
    let looks = 0;
    return { count: () => looks, readUsage: async () => usages[Math.min(looks++, usages.length - 1)]! };
  };
  const rise = (count: number, one: Usage) =>
    Array.from({ length: count }, (_, i) => ({
      allMs: i * one.allMs,
      pageMs: i * one.pageMs,
      graphicsMs: i * one.graphicsMs,
    }));

  it('notices that it uses no processor time', async () => {
    const { count, readUsage } = replay(rise(20, { allMs: 1000, pageMs: 0, graphicsMs: 1000 }));
    await expect(watchWork(endless, 1, { idleMs: 40, readUsage, isWaiting: calm })).rejects.toThrow(Frozen);
    // as long as it used some, it was left alone
    expect(count()).toBeGreaterThan(20);
  });

  it('leaves a browser alone that would work, but waits for a processor or a disk', async () => {
    let looks = 0;
    const isWaiting = async () => looks++ < 30;
    const { readUsage } = replay([{ allMs: 0, pageMs: 0, graphicsMs: 0 }]);
    await expect(watchWork(endless, 1, { idleMs: 40, readUsage, isWaiting })).rejects.toThrow(Frozen);
    expect(looks).toBeGreaterThan(30);
  });

  it('leaves a browser alone whose time is unknown, until the work ends', async () => {
    let looks = 0;
    let end = (_: string) => {};
    const work = new Promise<string>((resolve) => (end = resolve));
    const readUsage = async () => {
      if (++looks === 30) end('done');
      return null;
    };
    expect(await watchWork(work, 1, { idleMs: 40, readUsage })).toBe('done');
  });

  it('notices a page that calculates without an answer and without drawing', async () => {
    const { count, readUsage } = replay(rise(100, { allMs: 10, pageMs: 10, graphicsMs: 0 }));
    const options = { idleMs: 40, spinMs: 400, readUsage, isWaiting: calm, ping: () => endless };
    await expect(watchWork(endless, 1, options)).rejects.toThrow('calculated for 0.4 s');
    expect(count()).toBeGreaterThan(40);
  });

  it.each([
    ['answers now and then', { allMs: 10, pageMs: 10, graphicsMs: 0 }, true],
    ['waits for its own drawing', { allMs: 20, pageMs: 10, graphicsMs: 10 }, false],
    ['gets no processor', { allMs: 10, pageMs: 0, graphicsMs: 0 }, false],
  ])('leaves a page alone that %s', async (_, one, answers) => {
    let looks = 0;
    let end = (_: string) => {};
    const work = new Promise<string>((resolve) => (end = resolve));
    const { readUsage: read } = replay(rise(1000, one));
    const readUsage = () => {
      if (++looks === 200) end('done');
      return read();
    };
    // a page that answers does so after ten looks, in a quarter of its time
    let answerPing = () => {};
    const ping = () => new Promise<void>((resolve) => (answerPing = resolve));
    const readAndAnswer = async () => {
      const usage = await readUsage();
      if (answers && looks % 10 === 0) answerPing();
      return usage;
    };
    const options = { idleMs: 40, spinMs: 400, readUsage: readAndAnswer, isWaiting: calm, ping };
    expect(await watchWork(work, 1, options)).toBe('done');
  });

  it('passes on what the work itself throws', async () => {
    await expect(watchWork(Promise.reject(new Error('no')), 1, { idleMs: 40 })).rejects.toThrow('no');
  });
});
