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
  return sendText(
    reply,
    writeLists(Object.entries(rest), [[name, items]], describe as (item: unknown) => unknown, atOnce),
  );
}

/** Sends an answer with several long lists in the same way. @param atOnce entries that are written in one go */
export function sendLists(
  reply: FastifyReply,
  answer: Readonly<Record<string, unknown>>,
  atOnce: number,
): FastifyReply {
  const all = Object.entries(answer);
  const lists = all.filter((entry): entry is [string, readonly unknown[]] => Array.isArray(entry[1]));
  if (lists.every(([, items]) => items.length <= atOnce)) return reply.send(answer);
  const others = all.filter(([, value]) => !Array.isArray(value));
  return sendText(
    reply,
    writeLists(others, lists, (item) => item, atOnce),
  );
}

function sendText(reply: FastifyReply, parts: AsyncGenerator<string>): FastifyReply {
  return reply.type('application/json; charset=utf-8').send(Readable.from(parts));
}

async function* writeLists(
  others: readonly (readonly [string, unknown])[],
  lists: readonly (readonly [string, readonly unknown[]])[],
  describe: (item: unknown) => unknown,
  atOnce: number,
): AsyncGenerator<string> {
  const rest = JSON.stringify(Object.fromEntries(others)).slice(1, -1);
  let before = '{';
  for (const [name, items] of lists) {
    yield `${before}${JSON.stringify(name)}:[`;
    for (let from = 0; from < items.length; from += atOnce) {
      if (from > 0) await setImmediate();
      const part = items.slice(from, from + atOnce).map((item) => JSON.stringify(describe(item)));
      yield `${from > 0 ? ',' : ''}${part.join(',')}`;
    }
    before = '],';
  }
  yield `]${rest === '' ? '' : `,${rest}`}}`;
}
