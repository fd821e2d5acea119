import { Session } from 'node:inspector/promises';

/** How often each block of code ran, by file, function and place. */
export type Work = ReadonlyMap<string, number>;

/**
 * Counts the work of a run by V8's own counters of executed blocks: the same on every machine, however busy. Work inside
 * built-in functions is not counted.
 * @param files which files count, by a part of their URL
 */
export async function countWork(files: readonly string[], run: () => Promise<unknown>): Promise<Work> {
  const session = new Session();
  session.connect();
  try {
    await session.post('Profiler.enable');
    await session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true });
    await run();
    const { result } = await session.post('Profiler.takePreciseCoverage');
    const work = new Map<string, number>();
    for (const { url, functions } of result) {
      if (!files.some((part) => url.includes(part))) continue;
      for (const { functionName, ranges } of functions) {
        for (const { startOffset, count } of ranges) {
          const key = `${url.split('/').slice(-2).join('/')} ${functionName || 'function'} @${startOffset}`;
          work.set(key, Math.max(work.get(key) ?? 0, count));
        }
      }
    }
    await session.post('Profiler.stopPreciseCoverage');
    return work;
  } finally {
    session.disconnect();
  }
}

/**
 * The blocks whose work grew more than `factor` times between two runs.
 * @param least runs of a block below which growth says nothing
 */
export function listGrown(small: Work, large: Work, factor: number, least = 200_000): string[] {
  return [...large]
    .filter(([block, count]) => count > least && count > factor * Math.max(1, small.get(block) ?? 0))
    .map(([block, count]) => `${block}: ${small.get(block) ?? 0} → ${count}`);
}
