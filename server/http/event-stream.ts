import { Readable } from 'node:stream';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { settleWithin } from '../actions/settle-within.ts';

// Server-sent events (HTML Living Standard, §9.2).

/** One event. A reader that reconnects sends the id of its last event in `Last-Event-ID`. */
export interface ServerEvent {
  readonly id: number;
  readonly event: string;
  readonly data: unknown;
}

/** Proxies close connections that are silent for a minute, and many phones after half of that. */
export const HEARTBEAT_MS = 15_000;

/** How long a reader waits before it connects again: about the time of a restart. */
const RETRY_MS = 2_000;

/**
 * Sends events until they end, the reader leaves, or the service closes. `makeEvents` stops at its signal; when the service
 * closes, it may send one more event first.
 * @param closing aborts when the service closes
 */
export function sendEvents(
  request: FastifyRequest,
  reply: FastifyReply,
  closing: AbortSignal,
  makeEvents: (signal: AbortSignal) => AsyncIterable<ServerEvent>,
): FastifyReply {
  const gone = new AbortController();
  request.raw.once('close', () => gone.abort());
  reply.raw.once('close', () => gone.abort());
  const events = makeEvents(AbortSignal.any([gone.signal, closing]));
  return reply
    .type('text/event-stream')
    .header('cache-control', 'no-store')
    .send(Readable.from(writeEvents(events, HEARTBEAT_MS)));
}

/** The text of a stream: each event with its id, and a comment whenever nothing else was sent for `heartbeatMs`. */
export async function* writeEvents(events: AsyncIterable<ServerEvent>, heartbeatMs: number): AsyncGenerator<string> {
  const iterator = events[Symbol.asyncIterator]();
  yield `retry: ${RETRY_MS}\n\n`;
  try {
    for (let next = iterator.next(); ; ) {
      const result = await settleWithin(next, heartbeatMs);
      if (result === null) {
        yield ': still here\n\n';
        continue;
      }
      if (result.done) return;
      const { id, event, data } = result.value;
      yield `id: ${id}\nevent: ${event}\ndata: ${JSON.stringify(data)}\n\n`;
      next = iterator.next();
    }
  } finally {
    // not awaited: the source may wait for its signal, which aborts when the connection closes
    void iterator.return?.();
  }
}
