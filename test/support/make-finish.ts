import type { Finish } from '../../server/core/finish/finish.ts';

/** A plain finish, with the given differences. */
export function makeFinish(finish: string, given: Partial<Finish> = {}): Finish {
  return { finish, name: `Name of ${finish}`, family: 'paint', colour: { hex: '#2f5d73' }, ...given };
}

/** By folded code, as the functions of the core expect. */
export function byFoldedCode(finishes: readonly Finish[]): Map<string, Finish> {
  return new Map(finishes.map((finish) => [finish.finish.toLowerCase(), finish]));
}
