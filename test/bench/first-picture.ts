import { type ChildProcess, spawn } from 'node:child_process';
import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { findBrowser } from '../../server/find-browser.mjs';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { startService } from '../support/start-service.ts';
import { row, show, summarise } from './measure.ts';

const RUNS = 3;
const SIZE_PX = 1024;
/** A stool of the demo, of five slots. */
const PRODUCT = 'QM-S45';

/** When what happened, in milliseconds from the start of the process. */
interface Run {
  readonly listens: number;
  readonly studio: number;
  readonly first: number;
  /** How long it took by itself, from here on. */
  readonly direct: number;
  readonly other: number;
  /** Slots that are another finish in it. */
  readonly changed: number;
  readonly gl: string;
}

/**
 * From the start of the service to its first picture: the demo is there, no picture of it is. Files are in the system's
 * memory, and Mesa may have compiled the shaders before.
 */
export async function benchFirstPicture(): Promise<void> {
  if (!findBrowser(process.env.DYEWORKS_BROWSER)) {
    console.log('\nNo browser: the first picture is not measured.');
    return;
  }
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-bench-'));
  try {
    const filled = join(folder, 'filled');
    const service = await startService({ DYEWORKS_DEMO: 'on' }, filled, { engines: 'own' });
    await service.filled;
    await service.close();
    const runs: Run[] = [];
    for (let run = 0; run < RUNS; run++) {
      const data = join(folder, String(run));
      await cp(filled, data, { recursive: true });
      runs.push(await measure(data));
    }
    console.log(`\nThe first picture of ${PRODUCT} at ${SIZE_PX} px after a cold start, ${runs[0]!.gl}`);
    const of = (read: (run: Run) => number) => show(summarise(runs.map(read)));
    row(
      'the service listens',
      of(({ listens }) => listens),
    );
    row(
      'the studio is open',
      of(({ studio }) => studio),
    );
    row(
      'the picture is answered',
      of(({ first }) => first),
      'aim ≤ 6000 ms on two cores in software',
    );
    row(
      '  ÷ a direct one by the same service afterwards',
      summarise(runs.map(({ first, direct }) => first / direct)).median.toFixed(2),
    );
    row(
      'a direct one',
      of(({ direct }) => direct),
    );
    row(
      `another variant, ${runs[0]!.changed} slots of which have another finish`,
      of(({ other }) => other),
    );
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

async function measure(data: string): Promise<Run> {
  const started = performance.now();
  const since = () => performance.now() - started;
  const child = spawn(process.execPath, ['.build/server/dyeworks.mjs', 'serve'], {
    cwd: ROOT,
    env: {
      ...process.env,
      DYEWORKS_DATA: data,
      DYEWORKS_DEMO: 'off',
      DYEWORKS_PORT: '0',
      DYEWORKS_LOG: 'info',
      ...(NO_SANDBOX && { DYEWORKS_SANDBOX: 'off' }),
    },
  });
  let studio = Number.NaN;
  child.stderr.on('data', (text) => {
    if (String(text).includes('the studio is open')) studio = since();
  });
  // nobody reads it: it must not fill up
  child.stdout.resume();
  try {
    const url = await readAddress(child);
    const listens = since();
    const picture = `${url}/api/products/${PRODUCT}/picture.png?size=${SIZE_PX}`;
    await get(picture);
    const first = since();
    const time = async (path: string) => {
      const begun = since();
      await get(path);
      return since() - begun;
    };
    const direct = await time(`${picture}&direct=1`);
    const nearest = await findNearest(url);
    const other = await time(`${url}/api/products/${PRODUCT}/pictures/${nearest.code}.png?size=${SIZE_PX}`);
    const { renderer } = (await (await fetch(`${url}/health`)).json()) as { renderer: { gl: string } };
    return { listens, studio, first, direct, other, changed: nearest.changed, gl: renderer.gl };
  } finally {
    child.kill('SIGTERM');
    await new Promise((resolve) => child.once('exit', resolve));
  }
}

/** The variant that differs from the default one in the fewest slots. */
async function findNearest(url: string): Promise<{ readonly code: string; readonly changed: number }> {
  const answer = await fetch(`${url}/api/products/${PRODUCT}/schedule`);
  const schedule = (await answer.json()) as {
    default: string;
    variants: { code: string; choices: Record<string, string> }[];
  };
  const standing = schedule.variants.find(({ code }) => code === schedule.default)!.choices;
  const count = (choices: Record<string, string>) =>
    Object.entries(choices).filter(([slot, finish]) => standing[slot] !== finish).length;
  return schedule.variants
    .map(({ code, choices }) => ({ code, changed: count(choices) }))
    .filter(({ changed }) => changed > 0)
    .sort((a, b) => a.changed - b.changed)[0]!;
}

async function get(path: string): Promise<void> {
  const answer = await fetch(path);
  if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
  await answer.arrayBuffer();
}

function readAddress(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    child.once('error', reject);
    child.once('exit', (code) => reject(new Error(`the service ended with ${code}`)));
    child.stdout!.on('data', (text) => {
      const address = /Dyeworks is at (\S+)/.exec(String(text))?.[1];
      if (address) resolve(address);
    });
  });
}
