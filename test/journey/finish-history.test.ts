import { afterAll, beforeAll, expect, it } from 'vitest';
import { deltaE2000, hexToLab } from '../../server/core/colour/lab.ts';
import { startService, type TestService } from '../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

const by = (person: string, note?: string) => ({
  'dyeworks-person': encodeURIComponent(person),
  ...(note && { 'dyeworks-note': encodeURIComponent(note) }),
});
const put = (code: string, finish: object, headers = {}) =>
  service.call('PUT', `/api/finishes/${code}`, { name: 'Tarn', family: 'paint', ...finish }, headers);
const history = async (code: string) => (await service.call('GET', `/api/finishes/${code}/revisions`)).body;

it('lists who changed what and when, and the distance between the colours', async () => {
  await put('H-1', { colour: { hex: '#2f5d73' } });
  await put('h-1', { name: 'Tarn blue', colour: { hex: '#31617a' } }, by('Åsa Ö, 染', '5 % lighter: new master'));
  const { revisions, events } = await history('H-1');
  expect(events).toEqual([]);
  expect(revisions).toEqual([
    {
      revision: 2,
      how: 'saved',
      at: expect.stringMatching(/^\d{4}-\d\d-\d\dT.*Z$/),
      person: 'Åsa Ö, 染',
      note: '5 % lighter: new master',
      starts: false,
      changes: [
        { field: 'colour', before: { hex: '#2f5d73' }, after: { hex: '#31617a' } },
        { field: 'name', before: 'Tarn', after: 'Tarn blue' },
      ],
      hex: '#31617a',
      deltaE: expect.closeTo(deltaE2000(hexToLab('#2f5d73'), hexToLab('#31617a')), 9),
    },
    { revision: 1, how: 'saved', at: expect.any(String), person: null, starts: true, changes: [], hex: '#2f5d73' },
  ]);
  const { body } = await service.call('GET', '/api/finishes/H-1/revisions/1');
  expect(body).toMatchObject({
    revision: 1,
    person: null,
    finish: { finish: 'H-1', name: 'Tarn', colour: { hex: '#2f5d73' } },
    article: null,
    resolved: { hex: '#2f5d73' },
  });
});

it('does not read another finish under a reused code as the next revision of the first one', async () => {
  await put('H-2', { colour: { hex: '#101010' } });
  await service.call('DELETE', '/api/finishes/H-2', undefined, by('Ada', 'never sold'));
  expect((await history('h-2')).events).toMatchObject([
    { what: 'deleted', revision: 1, person: 'Ada', note: 'never sold' },
  ]);
  await put('H-2', { colour: { hex: '#f0f0f0' } });
  const { revisions } = await history('H-2');
  expect(revisions).toMatchObject([
    { revision: 2, starts: true, changes: [], hex: '#f0f0f0' },
    { revision: 1, starts: true, hex: '#101010' },
  ]);
  expect(revisions[0]).not.toHaveProperty('deltaE');
  expect((await service.call('GET', '/api/finishes/H-2/revisions/1')).body.finish.colour).toEqual({ hex: '#101010' });
});

it('records imports, and lines that discontinue the finish', async () => {
  const csv = 'code,name,family,hex\nH-3,Three,paint,#445566\nH-4,Four,paint,#665544\n';
  await service.call('POST', '/api/finishes/import', csv, { 'content-type': 'text/csv', ...by('Ada') });
  expect((await history('H-3')).revisions).toMatchObject([{ revision: 1, how: 'imported', person: 'Ada' }]);
  await service.call('PUT', '/api/lines/HL', {
    name: 'Line',
    positions: [{ position: 'seat', label: 'Seat' }],
    range: [{ finish: 'H-3' }, { finish: 'H-4' }],
  });
  const call = { finish: 'h-3', replacedBy: 'H-4' };
  await service.call('POST', '/api/lines/HL/discontinue', { ...call, preview: true }, by('Ada'));
  expect((await history('H-3')).events).toEqual([]);
  expect((await service.call('POST', '/api/lines/hl/discontinue', call, by('Ada'))).status).toBe(200);
  const { revisions, events } = await history('H-3');
  expect(revisions).toHaveLength(1);
  expect(events).toEqual([
    { what: 'discontinued', revision: 1, at: expect.any(String), person: 'Ada', line: 'HL', replacedBy: 'H-4' },
  ]);
});

it('shows a finish with its article at that time, and what the article changed about it', async () => {
  const article = (given: object, headers = {}) =>
    service.call('PUT', '/api/articles/Loop', { name: 'Loop', family: 'textile', ...given }, headers);
  await article({ roughness: 0.9 });
  await put('H-5', { family: 'textile', article: 'loop', colour: { hex: '#777777' } });
  await article({ roughness: 0.8, composition: 'wool' }, by('Bo'));
  expect((await history('H-5')).revisions[0]).toMatchObject({
    revision: 2,
    how: 'article-changed',
    person: 'Bo',
    changes: [
      { field: 'article.composition', after: 'wool' },
      { field: 'article.roughness', before: 0.9, after: 0.8 },
    ],
    deltaE: 0,
  });
  const past = async (n: number) => (await service.call('GET', `/api/finishes/H-5/revisions/${n}`)).body;
  expect(await past(1)).toMatchObject({ article: { revision: 1, roughness: 0.9 }, resolved: { roughness: 0.9 } });
  expect(await past(2)).toMatchObject({ article: { revision: 2, roughness: 0.8 }, resolved: { roughness: 0.8 } });
  const { body } = await service.call('GET', '/api/articles/LOOP/revisions');
  expect(
    body.revisions.map(({ revision, person }: { revision: number; person: string }) => [revision, person]),
  ).toEqual([
    [2, 'Bo'],
    [1, null],
  ]);
  expect((await service.call('GET', '/api/articles/loop/revisions/1')).body.article).toMatchObject({ roughness: 0.9 });
});

it('answers unknown codes, and refuses unreadable authors', async () => {
  const cases: [string, number, string][] = [
    ['/api/finishes/none/revisions', 404, 'unknown-finish-code'],
    ['/api/finishes/none/revisions/1', 404, 'unknown-finish-code'],
    ['/api/finishes/H-1/revisions/9', 404, 'unknown-revision'],
    ['/api/finishes/H-1/revisions/0', 400, 'invalid-field'],
    ['/api/finishes/H-1/revisions/1.5', 400, 'invalid-field'],
    ['/api/articles/none/revisions', 404, 'not-found'],
    ['/api/articles/Loop/revisions/9', 404, 'unknown-revision'],
  ];
  for (const [path, status, code] of cases) {
    const answer = await service.call('GET', path);
    expect([answer.status, answer.body.code], path).toEqual([status, code]);
  }
  const before = await history('H-1');
  for (const [person, code] of [
    ['5%', 'invalid-field'],
    ['%FF', 'invalid-field'],
    ['\u00c5sa', 'invalid-field'],
    ['a%00b', 'invalid-name'],
    ['x'.repeat(121), 'name-too-long'],
  ] as const) {
    const answer = await put('H-1', { colour: { hex: '#ffffff' } }, { 'dyeworks-person': person });
    expect([answer.status, answer.body.code], person).toEqual([400, code]);
  }
  expect(await history('H-1')).toEqual(before);
});
