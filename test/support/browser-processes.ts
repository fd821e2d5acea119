import { execFileSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';

interface BrowserProcess {
  readonly pid: number;
  /** Kind of the Chromium process (`--type=…`): `renderer`, `gpu-process`, …; `browser` for the first one. */
  readonly kind: string;
  readonly residentBytes: number;
}

/** The browser started as `pid` and its helpers, which share its process group; none when it has ended. */
export function listBrowserProcesses(pid: number): BrowserProcess[] {
  const all = existsSync('/proc/self/stat') ? readProc() : readPs();
  return all
    .filter(({ group }) => group === pid)
    .map(({ group: _, command, ...process }) => ({
      ...process,
      kind: /--type=([\w-]+)/.exec(command)?.[1] ?? 'browser',
    }));
}

/** Running browsers for pictures that a process started, by their profile folders. */
export function listStudioBrowsers(starter = process.pid): number[] {
  const mine = `dyeworks-studio-${starter}-`;
  const all = existsSync('/proc/self/stat') ? readProc() : readPs();
  return all.filter(({ pid, group, command }) => pid === group && command.includes(mine)).map(({ pid }) => pid);
}

interface Listed extends Omit<BrowserProcess, 'kind'> {
  readonly group: number;
  readonly command: string;
}

/**
 * proc(5): after the name in brackets come state, parent and group; `statm` counts pages, of 4 KiB on common machines.
 */
function readProc(): Listed[] {
  return readdirSync('/proc').flatMap((name) => {
    if (!/^\d+$/.test(name)) return [];
    try {
      const stat = readFileSync(`/proc/${name}/stat`, 'utf8');
      const [state, , group] = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
      if (state === 'Z') return [];
      const pages = Number(readFileSync(`/proc/${name}/statm`, 'utf8').split(' ')[1]);
      const command = readFileSync(`/proc/${name}/cmdline`, 'utf8').replaceAll('\0', ' ');
      return [{ pid: Number(name), group: Number(group), residentBytes: pages * 4096, command }];
    } catch {
      // it ended while it was read
      return [];
    }
  });
}

function readPs(): Listed[] {
  const text = execFileSync('ps', ['-axo', 'pid=,pgid=,rss=,args='], { encoding: 'utf8' });
  return text.split('\n').flatMap((line) => {
    const match = /^\s*(\d+)\s+(\d+)\s+(\d+)\s+(.*)$/.exec(line);
    if (!match) return [];
    const [pid, group, kib] = match.slice(1, 4).map(Number) as [number, number, number];
    return [{ pid, group, residentBytes: kib * 1024, command: match[4]! }];
  });
}
