import type { Readable } from 'node:stream';

/** How long a refused caller may go on sending, so that it reads the answer instead of a broken pipe. */
const DRAIN_MS = 10_000;

/** Reads what a refused caller still sends, for a while. */
export function drain(stream: Readable): void {
  if (stream.readableEnded || stream.destroyed) return;
  const timer = setTimeout(() => stream.destroy(), DRAIN_MS).unref();
  stream.once('close', () => clearTimeout(timer));
  stream.resume();
}
