import { expect, it } from 'vitest';
import { type ServerEvent, writeEvents } from '../../../server/http/event-stream.ts';

/** Events that come when the test says so. */
function createSource() {
  let next = (_: IteratorResult<ServerEvent>) => {};
  let returned = false;
  const events: AsyncIterable<ServerEvent> = {
    [Symbol.asyncIterator]: () => ({
      next: () => new Promise((resolve) => (next = resolve)),
      return: async () => {
        returned = true;
        return { done: true, value: undefined };
      },
    }),
  };
  return {
    events,
    send: (value: ServerEvent) => next({ done: false, value }),
    end: () => next({ done: true, value: undefined }),
    isReturned: () => returned,
  };
}

it('a silent stream carries comments, and its events keep their ids', async () => {
  const source = createSource();
  const stream = writeEvents(source.events, 2);
  expect((await stream.next()).value).toMatch(/^retry: \d+\n\n$/);
  // a comment begins with a colon, and a reader ignores it (HTML Living Standard, §9.2.6)
  for (let beat = 0; beat < 3; beat++) expect((await stream.next()).value).toMatch(/^: .*\n\n$/);
  source.send({ id: 7, event: 'progress', data: { done: 7 } });
  const after: string[] = [];
  for (let text = ''; !text.startsWith('id:'); after.push(text)) text = (await stream.next()).value;
  expect(after.at(-1)).toBe('id: 7\nevent: progress\ndata: {"done":7}\n\n');
  let result = stream.next();
  source.end();
  while (!(await result).done) result = stream.next();
});

it('a reader that leaves ends the source', async () => {
  const source = createSource();
  const stream = writeEvents(source.events, 2);
  await stream.next();
  await stream.next();
  await stream.return(undefined);
  expect(source.isReturned()).toBe(true);
});
