import { rmSync } from 'node:fs';
import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { createRenderer } from '../../renderer/create-renderer.ts';
import type { ProductShot } from '../../server/core/ports/renderer.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from '../renderer/built-studio.ts';
import { createModelFolder, makeBoxes } from '../renderer/models.ts';
import { listBrowserProcesses } from './browser-processes.ts';
import { createRandom } from './random.ts';

/**
 * What happens to the browser in the middle of a render: one of its processes is killed, or stopped so that it answers no more,
 * or its page calculates without an end. Without its graphics process, a page loses its GL context.
 */
export const DISTURBANCES = [
  { kind: 'browser', signal: 'SIGKILL' },
  { kind: 'gpu-process', signal: 'SIGKILL' },
  { kind: 'renderer', signal: 'SIGKILL' },
  { kind: 'gpu-process', signal: 'SIGSTOP' },
  { kind: 'renderer', signal: 'SIGSTOP' },
  { kind: 'browser', signal: 'SIGSTOP' },
  { kind: 'page', signal: 'loop' },
] as const;

/** Loops without an end in the middle of a shot while there is a file of this name; it says after how many milliseconds. */
const LOOP_FILE = 'loop.json';
const LOOP_SCRIPT = `
let studio;
Object.defineProperty(globalThis, 'studioPage', {
  get: () => studio,
  set(page) {
    const { takeProduct } = page;
    studio = { ...page, async takeProduct(...values) {
      const order = await fetch('./${LOOP_FILE}');
      if (order.ok) setTimeout(() => { for (;;); }, await order.json());
      return takeProduct(...values);
    } };
  },
});`;

/** A copy of the studio whose page can be made to loop. */
async function copyStudio(to: string): Promise<void> {
  await cp(await buildStudio(), to, { recursive: true });
  const index = join(to, 'index.html');
  await writeFile(join(to, 'loop.js'), LOOP_SCRIPT);
  const html = await readFile(index, 'utf8');
  await writeFile(index, html.replace('<head>', '<head><script src="./loop.js"></script>'));
}

export interface Disturbed {
  /** Renders that were disturbed. Each gave the same bytes as an undisturbed one. */
  readonly renders: number;
  /** Browsers that replaced a disturbed one. */
  readonly replaced: number;
  /** The longest time that a render with a stopped process or a looping page took, ms. */
  readonly longestMs: number;
  /** Processes of replaced browsers that still run. */
  readonly left: readonly number[];
}

/**
 * Takes pictures, and disturbs the browser in the middle of each.
 * @param count renders; each kind of disturbance comes in turn
 * @throws Error if a picture fails or has other bytes
 */
export async function disturbStudio(count: number, log: (text: string) => void = () => undefined): Promise<Disturbed> {
  const models = createModelFolder();
  const pids: number[] = [];
  const studioFolder = await mkdtemp(join(tmpdir(), 'dyeworks-looping-studio-'));
  await copyStudio(studioFolder);
  const loopFile = join(studioFolder, LOOP_FILE);
  const renderer = createRenderer({
    browserPath: findBrowser(),
    studioFolder,
    noSandbox: NO_SANDBOX,
    launchTimeoutMs: 60_000,
    log: (_, details) => {
      if (typeof details?.pid !== 'number') return;
      pids.push(details.pid);
      rmSync(loopFile, { force: true });
    },
  });
  try {
    const file = models.write('boxes', await makeBoxes([[0.6, 0.05, 0.05]]));
    const size = { widthPx: 512, heightPx: 512, ground: 'transparent', quality: 'still' } as const;
    const shot: ProductShot = { file, assignments: [], view: 'three-quarter', mount: 'floor', ...size };
    const expected = Buffer.from((await renderer.takeProduct(shot)).rgba);
    const started = Date.now();
    await renderer.takeProduct(shot);
    const undisturbedMs = Date.now() - started;
    const random = createRandom(count);
    let longestMs = 0;
    for (let done = 0; done < count; done++) {
      const { kind, signal } = DISTURBANCES[done % DISTURBANCES.length]!;
      const afterMs = random.next() * undisturbedMs * 0.8;
      const begun = Date.now();
      if (signal === 'loop') await writeFile(loopFile, JSON.stringify(afterMs));
      const taken = renderer.takeProduct(shot);
      taken.catch(() => undefined);
      if (signal !== 'loop') {
        await setTimeout(afterMs);
        const victims = listBrowserProcesses(pids.at(-1)!).filter((each) => each.kind === kind);
        for (const { pid } of victims) process.kill(pid, signal);
      }
      if (!Buffer.from((await taken).rgba).equals(expected)) throw new Error(`${signal} of ${kind}: other bytes`);
      const ms = Date.now() - begun;
      if (signal === 'SIGSTOP' || signal === 'loop') longestMs = Math.max(longestMs, ms);
      log(`${done + 1}: ${signal} of ${kind} after ${Math.round(afterMs)} ms, picture after ${ms} ms`);
    }
    // a browser may have been disturbed just after its shot; the next one finds it out
    await renderer.takeProduct(shot);
    const left = pids.slice(0, -1).flatMap((pid) => listBrowserProcesses(pid).map((each) => each.pid));
    return { renders: count, replaced: pids.length - 1, longestMs, left };
  } finally {
    await renderer.close();
    models.remove();
    await rm(studioFolder, { recursive: true, force: true });
  }
}
