import type { ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import type { Browser, Page } from 'puppeteer-core';
import { withDeadline } from './deadline.ts';
import type { GlWay } from './driver.ts';

interface LaunchOptions {
  readonly browserPath: string;
  readonly noSandbox: boolean;
  readonly way: GlWay;
  readonly timeoutMs: number;
  /** Host and port on the loopback: the one place the browser can reach. */
  readonly host: string;
}

export interface LaunchedBrowser {
  readonly browser: Browser;
  readonly page: Page;
  /** Ends the browser, a hung one at once, and leaves no profile behind. Never throws; may be called again. */
  end(hung?: boolean): Promise<void>;
}

/** Quiet and alone. Nothing here may phone home or wait for a display. */
const FLAGS = [
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--disable-extensions',
  '--disable-default-apps',
  '--disable-breakpad',
  '--disable-crash-reporter',
  '--no-first-run',
  '--no-default-browser-check',
  '--mute-audio',
  '--hide-scrollbars',
  '--force-color-profile=srgb',
  // containers give /dev/shm 64 MB, less than one large picture's traffic
  '--disable-dev-shm-usage',
] as const;

/**
 * No network but the page's own server. All else is sent to a proxy, which is that very server, and it refuses what is
 * not its own: not even another service on this machine can be reached, whatever a model or a page asks for, and a
 * request of the page's own takes no longer (intercepting each one cost a roundtrip through the pipe).
 */
function listWalls(host: string): readonly string[] {
  return [
    `--proxy-server=http://${host}`,
    // the loopback is let past proxies unless it is taken off
    `--proxy-bypass-list=<-loopback>;${host}`,
    // names resolve to nothing
    '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1',
    // what does not go through proxies
    '--webrtc-ip-handling-policy=disable_non_proxied_udp',
    // its name before
    '--force-webrtc-ip-handling-policy=disable_non_proxied_udp',
    '--disable-quic',
  ];
}

/**
 * Starts a browser with a profile of its own, talked to through a pipe: no debugging port is open, and the browser
 * goes when this process goes.
 */
export async function launchBrowser(options: LaunchOptions): Promise<LaunchedBrowser> {
  // late, since loading puppeteer costs a tenth of a second that a service start has not got
  const { launch } = await import('puppeteer-core');
  // the name says whose it is, so that what a crash left can be told from what is in use
  const profile = mkdtempSync(join(tmpdir(), `dyeworks-studio-${process.pid}-`));
  const sweep = () => rmSync(profile, { recursive: true, force: true, maxRetries: 3 });
  let browser: Browser | undefined;
  const atExit = () => {
    browser?.process()?.kill('SIGKILL');
    try {
      sweep();
    } catch {
      // the last files may still be held; the folder lies among temporary ones
    }
  };
  process.once('exit', atExit);

  let ending: Promise<void> | undefined;
  const end = (hung = false) => {
    ending ??= (async () => {
      await endProcess(browser, hung).catch(() => undefined);
      await removeProfile(profile);
      process.removeListener('exit', atExit);
    })();
    return ending;
  };

  try {
    browser = await launch({
      executablePath: options.browserPath,
      headless: true,
      pipe: true,
      userDataDir: profile,
      timeout: options.timeoutMs,
      // every call has a deadline here already; an earlier end would pass for a crash
      protocolTimeout: 0,
      handleSIGINT: false,
      handleSIGTERM: false,
      handleSIGHUP: false,
      defaultViewport: { width: 64, height: 64 },
      args: [
        ...FLAGS,
        ...listWalls(options.host),
        ...options.way.flags,
        ...(options.noSandbox ? ['--no-sandbox'] : []),
      ],
    });
    const page = await withDeadline(getFirstPage(browser), options.timeoutMs);
    return { browser, page, end };
  } catch (error) {
    await end();
    throw error;
  }
}

async function getFirstPage(browser: Browser): Promise<Page> {
  const [first] = await browser.pages();
  return first ?? browser.newPage();
}

/** The browser and its helpers, which share its process group; killed alone it leaves them behind for a while. */
function killGroup(child: ChildProcess): void {
  try {
    if (process.platform === 'win32' || child.pid === undefined) child.kill('SIGKILL');
    else process.kill(-child.pid, 'SIGKILL');
  } catch {
    child.kill('SIGKILL');
  }
}

/** Helpers of a browser that was killed may write for a moment longer, into a folder that is just being removed. */
const REMOVAL_ATTEMPTS = 20;

async function removeProfile(profile: string): Promise<void> {
  for (let attempt = 0; attempt < REMOVAL_ATTEMPTS; attempt++) {
    await rm(profile, { recursive: true, force: true }).catch(() => undefined);
    await setTimeout(50);
    if (!existsSync(profile)) return;
  }
}

/** A browser that answers ends its own helpers; this long is waited for it before it is killed. */
const POLITE_MS = 2_000;

async function endProcess(browser: Browser | undefined, hung: boolean): Promise<void> {
  const child = browser?.process();
  if (!browser || !child) return;
  const gone =
    child.exitCode !== null || child.signalCode !== null
      ? Promise.resolve()
      : new Promise<void>((resolve) => child.once('exit', () => resolve()));
  if (!hung && browser.connected) {
    await Promise.race([browser.close().catch(() => undefined), setTimeout(POLITE_MS, undefined, { ref: false })]);
  }
  killGroup(child);
  await gone;
  await browser.disconnect().catch(() => undefined);
}

/** What {@link needsNoSandbox} looks at. */
interface SandboxSigns {
  /** Numeric user id of the process, undefined where there is none (Windows). */
  readonly uid: number | undefined;
  readonly inContainer: boolean;
  /** What the caller was told; undefined leaves it to the signs. */
  readonly told: boolean | undefined;
}

/**
 * Whether the browser has to start without its sandbox.
 *
 * Chromium refuses to start sandboxed as root. In a container that is the common case and the container is the wall;
 * there the flag is set by itself. Root outside a container has to say so, otherwise the start fails with the
 * browser's own message: running unsandboxed on a bare machine is a decision. Everybody else keeps the sandbox.
 */
export function needsNoSandbox({ uid, inContainer, told }: SandboxSigns): boolean {
  if (told !== undefined) return told;
  return uid === 0 && inContainer;
}

export function readSandboxSigns(told: boolean | undefined): SandboxSigns {
  return { uid: process.getuid?.(), inContainer: isInContainer(), told };
}

/** Docker and Podman leave a file, Kubernetes a variable, others a word in the groups of process 1. */
function isInContainer(): boolean {
  if (existsSync('/.dockerenv') || existsSync('/run/.containerenv')) return true;
  if (process.env.KUBERNETES_SERVICE_HOST || process.env.container) return true;
  try {
    return /docker|kubepods|containerd|libpod|lxc|garden|buildkit/.test(readFileSync('/proc/1/cgroup', 'utf8'));
  } catch {
    return false;
  }
}
