import { execFile } from 'node:child_process';
import { readdir, readFile } from 'node:fs/promises';
import { promisify } from 'node:util';

/** What the processes of a browser used so far, ms of processor time. */
export interface Usage {
  readonly allMs: number;
  /** Main threads of pages, where their scripts run. */
  readonly pageMs: number;
  /** The process that draws. */
  readonly graphicsMs: number;
}

/**
 * Processor time of a browser.
 * @param group number of its process group
 * @returns null if the system does not tell: Windows does not without a library
 */
export async function readUsage(group: number): Promise<Usage | null> {
  if (process.platform === 'win32') return null;
  const members = process.platform === 'linux' ? await readProc(group) : await readPs(group);
  if (members.length === 0) return null;
  const sum = (some: readonly Member[], of: (one: Member) => number) => some.reduce((total, one) => total + of(one), 0);
  return {
    allMs: sum(members, ({ ms }) => ms),
    pageMs: sum(
      members.filter(({ kind }) => kind === 'renderer'),
      ({ mainMs }) => mainMs,
    ),
    graphicsMs: sum(
      members.filter(({ kind }) => kind === 'gpu-process'),
      ({ ms }) => ms,
    ),
  };
}

/**
 * Whether any thread of a browser waits for a processor or a disk. On a busy machine it can use no time although it would.
 * @param group number of its process group
 */
export async function isWaiting(group: number): Promise<boolean> {
  if (process.platform === 'win32') return false;
  if (process.platform !== 'linux') return (await readPs(group)).some(({ state }) => /[RDU]/.test(state));
  for (const { pid } of await readProc(group)) {
    for (const thread of await readdir(`/proc/${pid}/task`).catch(() => [])) {
      const stat = await readStat(`/proc/${pid}/task/${thread}/stat`);
      if (stat && /[RD]/.test(stat.state)) return true;
    }
  }
  return false;
}

interface Member {
  readonly pid: number;
  /** Kind of the Chromium process (`--type=…`), undefined for the first one. */
  readonly kind: string | undefined;
  /** First letter: runs or waits for a processor (R), waits for a disk (D, on some systems U), sleeps, is stopped. */
  readonly state: string;
  readonly ms: number;
  /** Of its main thread; of the whole process where the system does not tell. */
  readonly mainMs: number;
}

const KIND = /--type=([\w-]+)/;

async function readProc(group: number): Promise<Member[]> {
  const members: Member[] = [];
  for (const name of await readdir('/proc')) {
    if (!/^\d+$/.test(name)) continue;
    const stat = await readStat(`/proc/${name}/stat`);
    if (stat?.group !== group) continue;
    const main = await readStat(`/proc/${name}/task/${name}/stat`);
    const command = await readFile(`/proc/${name}/cmdline`, 'latin1').catch(() => '');
    members.push({ ...stat, pid: Number(name), mainMs: main?.ms ?? 0, kind: KIND.exec(command)?.[1] });
  }
  return members;
}

/** Ticks of the kernel's clock per second in `/proc`, the same on all common machines (proc(5), `utime`). */
const TICK_MS = 10;

/** proc(5): after the name in brackets come state, parent and group; 11 and 12 are the times in user and in kernel mode. */
async function readStat(path: string): Promise<(Pick<Member, 'state' | 'ms'> & { readonly group: number }) | null> {
  const text = await readFile(path, 'latin1').catch(() => '');
  const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
  if (fields.length < 13) return null;
  return { state: fields[0]!, group: Number(fields[2]), ms: (Number(fields[11]) + Number(fields[12])) * TICK_MS };
}

/** Times are `[[days-]hours:]minutes:seconds`, with hundredths on some systems. */
async function readPs(group: number): Promise<Member[]> {
  const { stdout } = await promisify(execFile)('ps', ['-axo', 'pid=,pgid=,state=,time=,args='], {
    maxBuffer: 64 * 1024 ** 2,
  });
  return stdout.split('\n').flatMap((line) => {
    const [pid, pgid, state = '', time, ...command] = line.trim().split(/\s+/);
    if (Number(pgid) !== group || !time) return [];
    const [days, clock] = time.includes('-') ? time.split('-') : ['0', time];
    const inDay = clock!.split(':').reduce((sum, part) => sum * 60 + Number(part), 0);
    const ms = (Number(days) * 86_400 + inDay) * 1000;
    return [{ pid: Number(pid), kind: KIND.exec(command.join(' '))?.[1], state, ms, mainMs: ms }];
  });
}
