import type { FastifyReply } from 'fastify';

/** A signal that aborts when the caller closes the connection before it has the whole answer. */
export function callerSignal({ raw }: FastifyReply): AbortSignal {
  const gone = new AbortController();
  raw.once('close', () => {
    if (!raw.writableFinished) gone.abort();
  });
  return gone.signal;
}
