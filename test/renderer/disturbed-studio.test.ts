import { describe, expect, it } from 'vitest';
import { createRenderer } from '../../renderer/create-renderer.ts';
import { Frozen, watchWork } from '../../renderer/watch-browser.ts';
import { isBusyNow } from '../../server/actions/retry-while-busy.ts';
import { listBrowserProcesses } from '../support/browser-processes.ts';
import { DISTURBANCES, disturbStudio } from '../support/disturb-studio.ts';
import { refusalOf } from '../support/refusal.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from './built-studio.ts';
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
    for (const pid of pids) expect(listBrowserProcesses(pid)).toEqual([]);
    await renderer.close();
  });
});

describe('watching a browser', () => {
  const endless = new Promise<never>(() => undefined);

  it('notices that it uses no processor time', async () => {
    let looks = 0;
    const readBusyMs = async () => (looks++ < 20 ? looks * 1000 : 20_000);
    await expect(watchWork(endless, 1, { idleMs: 40, readBusyMs })).rejects.toThrow(Frozen);
    // as long as it used some, it was left alone
    expect(looks).toBeGreaterThan(20);
  });

  it('leaves a browser alone whose time is unknown, until the work ends', async () => {
    let looks = 0;
    let end = (_: string) => {};
    const work = new Promise<string>((resolve) => (end = resolve));
    const readBusyMs = async () => {
      if (++looks === 30) end('done');
      return null;
    };
    expect(await watchWork(work, 1, { idleMs: 40, readBusyMs })).toBe('done');
  });

  it('passes on what the work itself throws', async () => {
    await expect(watchWork(Promise.reject(new Error('no')), 1, { idleMs: 40 })).rejects.toThrow('no');
  });
});
