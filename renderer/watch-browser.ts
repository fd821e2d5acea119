import { isWaiting, readUsage, type Usage } from './read-usage.ts';

/**
 * A browser that works on a shot uses its processors, also with a GPU. One whose graphics or page process is frozen waits for
 * it without an end, and uses none. So it is noticed long before the deadline of a shot, which must allow for slow machines.
 * Six seconds leave time to start another browser within fifteen. Too short would end browsers that wait for a server.
 */
const IDLE_MS = 6_000;

/** Share of one processor, from which on a browser counts as working. On a busy machine its share is a few times as large. */
const WORKING_SHARE = 0.05;

/**
 * A page that calculates this long without an answer and without drawing is in an endless loop. It is processor time, so it
 * takes longer on a busy machine. Pages answer between the steps of their work (`breathe.ts`), and the longest step takes a
 * quarter of this.
 */
const SPIN_MS = 8_000;

/** The browser did nothing for its work for too long. */
export class Frozen extends Error {
  override readonly name = 'Frozen';
}

export interface WatchOptions {
  /** Time without work after which a browser is frozen. Default 6 s. */
  readonly idleMs?: number;
  /** Processor time of a page that does not answer, without any drawing, after which it is in an endless loop. Default 8 s. */
  readonly spinMs?: number;
  /** Settles when the page answers. */
  readonly ping?: () => Promise<unknown>;
  /** What the browser's processes used so far; null if the system does not tell. */
  readonly readUsage?: (pid: number) => Promise<Usage | null>;
  /** Whether a browser that used nothing waits for a processor or a disk. */
  readonly isWaiting?: (pid: number) => Promise<boolean>;
}

/**
 * Waits for work of a browser, as long as the browser does any. It does not stop the work itself.
 * @param pid process of the browser, and number of its process group
 * @throws Frozen
 */
export async function watchWork<Result>(
  work: Promise<Result>,
  pid: number | undefined,
  options: WatchOptions = {},
): Promise<Result> {
  if (pid === undefined) return work;
  const { idleMs = IDLE_MS, spinMs = SPIN_MS } = options;
  const pauseMs = idleMs / 8;
  const pings = createPings(options.ping);
  let timer: NodeJS.Timeout | undefined;
  let ended = false;
  const frozen = new Promise<never>((_, reject) => {
    let idlePauses = 0;
    let spunMs = 0;
    let before: Usage | null = null;
    const look = async () => {
      const now = await (options.readUsage ?? readUsage)(pid).catch(() => null);
      // a process that ends takes its time out of the sum
      const used = (of: keyof Usage) => (before === null || now === null ? null : Math.abs(now[of] - before[of]));
      const isIdle = (of: keyof Usage) => (used(of) ?? pauseMs) < pauseMs * WORKING_SHARE;
      if (!isIdle('allMs')) idlePauses = 0;
      else if (!(await (options.isWaiting ?? isWaiting)(pid).catch(() => false))) idlePauses++;
      if (pings.takeAnswer()) spunMs = 0;
      else if (isIdle('graphicsMs')) spunMs += used('pageMs') ?? 0;
      before = now;
      if (ended) return;
      if (idlePauses * pauseMs >= idleMs) reject(new Frozen(`The browser did nothing for ${idleMs / 1000} s.`));
      else if (spunMs >= spinMs) reject(new Frozen(`The page calculated for ${spunMs / 1000} s without an answer.`));
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

/** One ping at a time, the next only when someone asks for its answer. Without pings, every page counts as answering. */
function createPings(ping: WatchOptions['ping']): { takeAnswer(): boolean } {
  let isAnswered = true;
  const settle = () => {
    isAnswered = true;
  };
  return {
    takeAnswer() {
      if (!ping || !isAnswered) return !ping;
      isAnswered = false;
      ping().then(settle, settle);
      return true;
    },
  };
}
