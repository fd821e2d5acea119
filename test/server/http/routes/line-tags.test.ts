import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { putLineOfFinishes } from '../../../support/job.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

// If-Match and ETag as RFC 9110 §13.1.1 and §8.8.3 have them: one who read a line cannot undo what another wrote since.

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
});
afterAll(() => service.close());

const LINE = '/api/lines/FEN';
const read = async () => {
  const { body, headers } = await service.call('GET', LINE);
  return { line: body, tag: headers.get('etag')! };
};
const put = (path: string, body: object, tag?: string) =>
  service.call('PUT', path, body, tag === undefined ? {} : { 'if-match': tag });

describe('the tag of a line', () => {
  it('stands in every answer that has the line or its rules, and is the same as long as the line is', async () => {
    const { tag, line } = await read();
    expect(tag).toMatch(/^"[0-9a-f]{64}"$/);
    expect((await service.call('GET', `${LINE}/rules`)).headers.get('etag')).toBe(tag);
    expect((await put(LINE, toBody(line))).headers.get('etag')).toBe(tag);
    const known = await service.call('GET', LINE, undefined, { 'if-none-match': tag });
    expect(known.status).toBe(304);
  });

  it('changes with whatever changes: name, position, range, rules, a discontinued finish', async () => {
    const tags = [(await read()).tag];
    const changes: [string, string, object][] = [
      ['PUT', LINE, { name: 'Fenwater Two' }],
      [
        'PUT',
        LINE,
        {
          name: 'Fenwater',
          positions: [
            { position: 'shell', label: 'Body' },
            { position: 'trim', label: 'Trim' },
          ],
        },
      ],
      ['PUT', `${LINE}/rules`, { rules: [{ when: { position: 'shell' }, sameAs: { position: 'trim' } }] }],
      ['POST', `${LINE}/discontinue`, { finish: 'ASH-2' }],
    ];
    for (const [method, path, body] of changes) {
      expect((await service.call(method, path, body)).status).toBe(200);
      tags.push((await read()).tag);
    }
    expect(new Set(tags).size).toBe(tags.length);
  });
});

describe('a write with a tag that is not the line’s any more', () => {
  it('is refused with what has changed, and nothing is stored', async () => {
    const { tag, line } = await read();
    expect((await put(LINE, { name: 'By the other' }, tag)).status).toBe(200);
    const other = await read();
    for (const [path, body] of [
      [LINE, { name: 'By the first', range: [] }],
      [`${LINE}/rules`, { rules: [] }],
    ] as const) {
      const { status, body: problem } = await put(path, body, tag);
      expect([status, problem.code]).toEqual([412, 'stale-line']);
      expect(problem.findings).toEqual([{ message: `The name changed from “${line.name}” to “By the other”.` }]);
      expect(problem.detail).toContain('By the other');
      expect(`"${problem.expected}"`).toBe(other.tag);
    }
    const stop = await service.call('POST', `${LINE}/discontinue`, { finish: 'OAK-1' }, { 'if-match': tag });
    expect([stop.status, stop.body.code]).toEqual([412, 'stale-line']);
    expect(await read()).toEqual(other);
  });

  it('is refused for a tag nobody was given, and for a line that is not there', async () => {
    const problem = await put(LINE, { name: 'X' }, '"0000"');
    expect([problem.status, problem.body.code, problem.body.findings]).toEqual([412, 'stale-line', undefined]);
    expect((await put('/api/lines/NEW', { name: 'New' }, '"0000"')).status).toBe(412);
    expect((await service.call('GET', '/api/lines/NEW')).status).toBe(404);
  });

  it('goes through with the new one', async () => {
    const { tag } = await read();
    expect((await put(LINE, { name: 'Fenwater' }, tag)).status).toBe(200);
    expect((await put(`${LINE}/rules`, { rules: [] }, (await read()).tag)).status).toBe(200);
  });
});

it('without a tag, writes of different parts at once are all kept', async () => {
  const rules = [{ when: { position: 'shell' }, sameAs: { position: 'trim' } }];
  const range = [{ finish: 'OAK-1', grade: 'Z' }, { finish: 'COAL_4' }];
  const answers = await Promise.all([
    put(LINE, { name: 'Fenwater Three' }),
    put(`${LINE}/rules`, { rules }),
    put(LINE, { name: 'Fenwater Three', range }),
    put(LINE, { name: 'Fenwater Three' }),
  ]);
  expect(answers.map(({ status }) => status)).toEqual([200, 200, 200, 200]);
  const { line } = await read();
  expect(line).toMatchObject({
    name: 'Fenwater Three',
    rules,
    range: [{ finish: 'OAK-1', grade: 'Z' }, { finish: 'COAL_4' }],
  });
});

/** What is sent of a line. */
function toBody({ name, positions, range, rules }: Record<string, unknown>) {
  return { name, positions, range, rules };
}
