import { execFile } from 'node:child_process';
import { readdir, readFile } from 'node:fs/promises';
import { promisify } from 'node:util';

/**
 * A browser that works on a shot uses its processors, also with a GPU. One whose graphics or page process is frozen waits for
 * it without an end, and uses none. So it is noticed long before the deadline of a shot, which must allow for slow machines.
 * Six seconds leave time to start another browser within fifteen. Too short would end browsers that wait for a disk.
 */
const IDLE_MS = 6_000;

/** Share of one processor, from which on a browser counts as working. On a busy machine its share is a few times as large. */
const WORKING_SHARE = 0.05;

/** The browser did nothing for its work for too long. */
export class Frozen extends Error {
  override readonly name = 'Frozen';
}

export interface WatchOptions {
  /** Time without work after which a browser is frozen. Default 6 s. */
  readonly idleMs?: number;
  /** Processor time of the browser's processes so far, ms; null if the system does not tell. */
  readonly readBusyMs?: (pid: number) => Promise<number | null>;
}

/**
 * Waits for work of a browser, as long as the browser does any. It does not stop the work itself.
 * @param pid process of the browser, and number of its process group
 * @throws Frozen
 */
export async function watchWork<Result>(
  work: Promise<Result>,
  pid: number | undefined,
  { idleMs = IDLE_MS, readBusyMs = readGroupMs }: WatchOptions = {},
): Promise<Result> {
  if (pid === undefined) return work;
  const pauseMs = idleMs / 8;
  let timer: NodeJS.Timeout | undefined;
  let ended = false;
  const frozen = new Promise<never>((_, reject) => {
    let idlePauses = 0;
    let before: number | null = null;
    const look = async () => {
      const busyMs = await readBusyMs(pid).catch(() => null);
      if (ended) return;
      // a process that ends takes its time out of the sum
      const used = before === null || busyMs === null ? null : Math.abs(busyMs - before);
      before = busyMs;
      idlePauses = used !== null && used < pauseMs * WORKING_SHARE ? idlePauses + 1 : 0;
      if (idlePauses * pauseMs >= idleMs) reject(new Frozen(`The browser did nothing for ${idleMs / 1000} s.`));
      else timer = setTimeout(look, pauseMs);
    };
    // most shots end before the first look
    timer = setTimeout(look, Math.min(pauseMs, 500));
  });
  try {
    return await Promise.race([work, frozen]);
  } finally {
    ended = true;
    clearTimeout(timer);
    // After a freeze the work fails with its browser, and nobody reads its error.
    work.catch(() => undefined);
  }
}

/** Ticks of the kernel's clock per second in `/proc`, the same on all common machines (proc(5), `utime`). */
const TICK_MS = 10;

/**
 * Processor time of a process group. Windows does not tell it without a library; there, only the deadline of a shot finds a
 * frozen browser.
 */
async function readGroupMs(group: number): Promise<number | null> {
  if (process.platform === 'linux') return readProc(group);
  return process.platform === 'win32' ? null : readPs(group);
}

/** proc(5): after the name in brackets come state, parent and group; 11 and 12 are the times in user and in kernel mode. */
async function readProc(group: number): Promise<number | null> {
  let ticks: number | null = null;
  for (const name of await readdir('/proc')) {
    if (!/^\d+$/.test(name)) continue;
    const stat = await readFile(`/proc/${name}/stat`, 'latin1').catch(() => '');
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
    if (Number(fields[2]) === group) ticks = (ticks ?? 0) + Number(fields[11]) + Number(fields[12]);
  }
  return ticks && ticks * TICK_MS;
}

/** `[[days-]hours:]minutes:seconds`, with hundredths on some systems. */
async function readPs(group: number): Promise<number | null> {
  const { stdout } = await promisify(execFile)('ps', ['-axo', 'pgid=,time=']);
  let seconds: number | null = null;
  for (const line of stdout.split('\n')) {
    const [pgid, time] = line.trim().split(/\s+/);
    if (Number(pgid) !== group || !time) continue;
    const [days, clock] = time.includes('-') ? time.split('-') : ['0', time];
    const inDay = clock!.split(':').reduce((sum, part) => sum * 60 + Number(part), 0);
    seconds = (seconds ?? 0) + Number(days) * 86_400 + inDay;
  }
  return seconds && seconds * 1000;
}
