import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { describeProblem } from './problem-answers.ts';

/**
 * Ends calls whose body stops arriving: when no byte came for `idleMs`, the caller gets 408 and the connection closes. What was
 * received is dropped by the handler, whose stream ends with an error. A body that Dyeworks itself is slow to take is not late.
 */
export function endSlowBodies(app: FastifyInstance, idleMs: number): void {
  app.addHook('onRequest', async (request, reply) => {
    const { headers } = request;
    const hasBody = headers['transfer-encoding'] !== undefined || Number(headers['content-length'] ?? 0) > 0;
    if (hasBody) watchBody(request, reply, idleMs);
  });
}

/** Looks are counted, not time: while this thread is busy, bytes wait unread in the system, and nobody is late. */
const LOOKS = 4;

function watchBody(request: FastifyRequest, reply: FastifyReply, idleMs: number): void {
  const { raw } = request;
  const { socket } = raw;
  let seen = socket.bytesRead;
  let silent = 0;
  const timer = setInterval(() => {
    if (raw.complete || raw.destroyed) return stop();
    const waitsForUs = raw.readableLength > 0 || reply.raw.headersSent;
    if (waitsForUs || socket.bytesRead !== seen) {
      seen = socket.bytesRead;
      silent = 0;
    } else if (++silent >= LOOKS) {
      stop();
      endCall(request, reply, idleMs);
    }
  }, idleMs / LOOKS);
  const stop = () => clearInterval(timer);
  raw.once('close', stop);
  reply.raw.once('close', stop);
}

/** The answer goes around the handler, which still waits for the body. */
function endCall({ raw }: FastifyRequest, reply: FastifyReply, idleMs: number): void {
  const seconds = Math.round(idleMs / 1000);
  const problem = new Problem('body-too-slow', {
    detail: REQUEST_PROBLEMS['body-too-slow'].body(seconds),
    expected: seconds,
  });
  const { status, headers, body } = describeProblem(problem.code, problem.more);
  reply.hijack();
  reply.raw.writeHead(status, { ...(reply.getHeaders() as Record<string, string>), ...headers, connection: 'close' });
  reply.raw.end(body, () => raw.destroy(problem));
}
