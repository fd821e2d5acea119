import type { ChildProcess } from 'node:child_process';
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { setTimeout } from 'node:timers/promises';
import type { Browser, Page } from 'puppeteer-core';
import { type HoldLock, makeProfile } from './browser-profiles.ts';
import { withDeadline } from './deadline.ts';
import type { GlWay } from './driver.ts';

interface LaunchOptions {
  readonly browserPath: string;
  readonly noSandbox: boolean;
  readonly way: GlWay;
  readonly timeoutMs: number;
  /** Host and port on the loopback interface, the only place the browser can reach. */
  readonly host: string;
  /** Marks the profile as in use. */
  readonly holdLock?: HoldLock;
}

export interface LaunchedBrowser {
  readonly browser: Browser;
  readonly page: Page;
  /** Ends the browser, a hung one at once, and leaves no profile behind. Never throws; may be called again. */
  end(hung?: boolean): Promise<void>;
}

/** The browser sends no telemetry and needs no display. */
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
  // Containers give /dev/shm 64 MB, less than one large picture needs.
  '--disable-dev-shm-usage',
] as const;

/**
 * The browser reaches only the page's own server. All other requests go to a proxy, which is the same server, and it
 * refuses them. A model or page therefore cannot reach even another service on this machine. The page's own requests
 * take no longer; intercepting each one would cost a round trip through the pipe.
 */
function listWalls(host: string): readonly string[] {
  return [
    `--proxy-server=http://${host}`,
    // By default the loopback bypasses proxies.
    `--proxy-bypass-list=<-loopback>;${host}`,
    // No name resolves.
    '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1',
    // Traffic that does not go through proxies.
    '--webrtc-ip-handling-policy=disable_non_proxied_udp',
    // The earlier name of the same flag.
    '--force-webrtc-ip-handling-policy=disable_non_proxied_udp',
    '--disable-quic',
  ];
}

/**
 * Starts a browser with a profile of its own and controls it through a pipe. No debugging port is open, and the browser
 * ends with this process.
 */
export async function launchBrowser(options: LaunchOptions): Promise<LaunchedBrowser> {
  // Loaded late: puppeteer would add a tenth of a second to the start of the service.
  const { launch } = await import('puppeteer-core');
  const { path: profile, release } = makeProfile(options.holdLock);
  const sweep = () => {
    release();
    rmSync(profile, { recursive: true, force: true, maxRetries: 3 });
  };
  let browser: Browser | undefined;
  const atExit = () => {
    browser?.process()?.kill('SIGKILL');
    try {
      sweep();
    } catch {
      // The last files may still be in use. The folder is among temporary ones, so it may stay.
    }
  };
  process.once('exit', atExit);

  let ending: Promise<void> | undefined;
  const end = (hung = false) => {
    ending ??= (async () => {
      await endProcess(browser, hung).catch(() => undefined);
      release();
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
      // Every call already has a deadline. An earlier timeout would look like a crash.
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

/** Kills the browser and its helpers, which share its process group. Killed alone, it leaves them running for a while. */
function killGroup(child: ChildProcess): void {
  try {
    if (process.platform === 'win32' || child.pid === undefined) child.kill('SIGKILL');
    else process.kill(-child.pid, 'SIGKILL');
  } catch {
    child.kill('SIGKILL');
  }
}

/** Removal attempts. Helpers of a killed browser may still write into the folder for a moment. */
const REMOVAL_ATTEMPTS = 20;

async function removeProfile(profile: string): Promise<void> {
  for (let attempt = 0; attempt < REMOVAL_ATTEMPTS; attempt++) {
    await rm(profile, { recursive: true, force: true }).catch(() => undefined);
    await setTimeout(50);
    if (!existsSync(profile)) return;
  }
}

/** A responsive browser ends its own helpers. It has this long before it is killed. */
const POLITE_MS = 2_000;

/** A killed process ends within milliseconds. */
const KILLED_MS = 2_000;

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
  // A process that waits in a driver of the kernel ends only when the driver lets it.
  await Promise.race([gone, setTimeout(KILLED_MS, undefined, { ref: false })]);
  await browser.disconnect().catch(() => undefined);
}

/** The facts that {@link needsNoSandbox} uses. */
interface SandboxSigns {
  /** Numeric user id of the process; undefined if the system has none (Windows). */
  readonly uid: number | undefined;
  readonly inContainer: boolean;
  /** The caller's setting; undefined leaves the decision to the other facts. */
  readonly setting: boolean | undefined;
}

/**
 * Whether the browser must start without its sandbox.
 *
 * Chromium refuses to start sandboxed as root. In a container, root is common and the container itself isolates, so the
 * flag is set automatically. Root outside a container must set it; otherwise the start fails with the browser's own
 * message. Running without a sandbox on a bare machine must be a deliberate decision. All other users keep the sandbox.
 */
export function needsNoSandbox({ uid, inContainer, setting }: SandboxSigns): boolean {
  if (setting !== undefined) return setting;
  return uid === 0 && inContainer;
}

export function readSandboxSigns(setting: boolean | undefined): SandboxSigns {
  return { uid: process.getuid?.(), inContainer: isInContainer(), setting };
}

/** Docker and Podman leave a file, Kubernetes a variable, others a name in the cgroups of process 1. */
function isInContainer(): boolean {
  if (existsSync('/.dockerenv') || existsSync('/run/.containerenv')) return true;
  if (process.env.KUBERNETES_SERVICE_HOST || process.env.container) return true;
  try {
    return /docker|kubepods|containerd|libpod|lxc|garden|buildkit/.test(readFileSync('/proc/1/cgroup', 'utf8'));
  } catch {
    return false;
  }
}
