import { Readable } from 'node:stream';
import { setImmediate } from 'node:timers/promises';
import type { FastifyReply } from 'fastify';

/** Entries that are made and written in one go: finishes have two kilobytes each. */
const AT_ONCE = 50;

/**
 * Sends `{[name]: […], …rest}` bit by bit, with turns of the event loop in between: a library of fifty thousand finishes has a
 * hundred megabytes.
 * @param atOnce entries that are made and written in one go
 */
export function sendList<Item>(
  reply: FastifyReply,
  name: string,
  items: readonly Item[],
  describe: (item: Item) => unknown,
  rest: Readonly<Record<string, unknown>> = {},
  atOnce = AT_ONCE,
): FastifyReply {
  if (items.length <= atOnce) return reply.send({ ...rest, [name]: items.map(describe) });
  return reply
    .type('application/json; charset=utf-8')
    .send(Readable.from(writeList(name, items, describe, rest, atOnce)));
}

async function* writeList<Item>(
  name: string,
  items: readonly Item[],
  describe: (item: Item) => unknown,
  rest: Readonly<Record<string, unknown>>,
  atOnce: number,
): AsyncGenerator<string> {
  yield `{${JSON.stringify(name)}:[`;
  for (let from = 0; from < items.length; from += atOnce) {
    if (from > 0) await setImmediate();
    const part = items.slice(from, from + atOnce).map((item) => JSON.stringify(describe(item)));
    yield `${from > 0 ? ',' : ''}${part.join(',')}`;
  }
  const others = JSON.stringify(rest).slice(1, -1);
  yield `]${others === '' ? '' : `,${others}`}}`;
}
