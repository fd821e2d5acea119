import { afterAll, beforeAll, expect, it } from 'vitest';
import { makeSpectraCsv } from '../../../support/measurements.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

const send = (query: string, body: string | Uint8Array, type = 'text/csv') =>
  service.call('POST', `/api/finishes/import${query}`, body, { 'content-type': type });
const stored = async () => {
  const { body } = await service.call('GET', '/api/finishes');
  return (body.finishes as { finish: string; revision: number }[]).map(
    ({ finish, revision }) => `${finish} ${revision}`,
  );
};

it('shows a dry run, imports, and finds nothing to do the second time', async () => {
  const csv =
    'code,name,family,hex,l,a,b,illuminant,observer\nI-1,One,paint,#2f5d73,,,,,\nI-2,Two,paint,,50,-2,3,D65,2deg\n';
  const dry = await send('?dryRun=1', csv);
  expect(dry.status).toBe(200);
  expect(dry.body).toMatchObject({
    format: 'csv',
    stored: false,
    created: [
      { line: 2, finish: 'I-1', name: 'One', family: 'paint', hex: '#2f5d73', findings: [] },
      { line: 3, finish: 'I-2', name: 'Two', estimated: null },
    ],
    changed: [],
    unchanged: [],
    refused: [],
  });
  expect(await stored()).toEqual([]);
  expect((await send('', csv)).body).toMatchObject({ stored: true, created: dry.body.created });
  expect(await stored()).toEqual(['I-1 1', 'I-2 1']);
  expect((await send('', csv)).body).toMatchObject({ created: [], changed: [], unchanged: dry.body.created });
  expect((await send('', csv.replace('One', 'First'))).body).toMatchObject({
    changed: [{ line: 2, finish: 'I-1', fields: ['name'] }],
  });
  expect(await stored()).toEqual(['I-1 2', 'I-2 1']);
});

it('gives an example that imports whole, and answers every kind of line as it is described', async () => {
  const example = await service.call('GET', '/api/finishes/import/example.csv');
  expect(example.headers.get('content-type')).toMatch(/^text\/csv/);
  expect(example.headers.get('content-disposition')).toMatch(/^attachment/);
  const text = new TextDecoder().decode(example.body);
  const first = await send('?dryRun=1', text);
  expect(first.body.created).toHaveLength(3);
  await send('?family=paint', 'code,name,hex\nEX-10,Old name,#2f5d74\n');
  const [header, ...rows] = text.trimEnd().split('\r\n');
  const mixed = await send('?dryRun=1', [header, ...rows, rows[0]!.replace('EX-10', 'no code')].join('\n'));
  expect(mixed.body).toMatchObject({
    changed: [{ finish: 'EX-10', before: { name: 'Old name', hex: '#2f5d74' } }],
    created: [{ finish: 'EX-20', findings: ['colour-estimated'] }, { finish: 'EX-30' }],
    refused: [{ line: 5, code: 'invalid-code' }],
  });
  await service.call('DELETE', '/api/finishes/EX-10');
});

it('imports nothing when a line is refused, unless asked for the rest', async () => {
  const before = await stored();
  const csv =
    'code,name,hex\nJ-1,One,#2f5d73\nJ-2,=2+2,#2f5d73\nJ-3,Three,#2f5d7\nJ-4,Four,#2f5d73\nj-4,Four,#2f5d73\n';
  const { body } = await send('?family=paint', csv);
  expect(body.stored).toBe(false);
  expect(body.refused.map(({ line, code }: { line: number; code: string }) => [line, code])).toEqual([
    [3, 'cell-formula'],
    [4, 'colour-incomplete'],
    [5, 'duplicate-code'],
    [6, 'duplicate-code'],
  ]);
  expect(body.refused.every(({ message }: { message: string }) => message.length > 20)).toBe(true);
  expect(await stored()).toEqual(before);
  expect((await send('?family=paint&partial=1', csv)).body).toMatchObject({
    stored: true,
    created: [{ finish: 'J-1' }],
  });
  expect(await stored()).toEqual([...before, 'J-1 1']);
});

it('takes CGATS as text/plain with what the caller says it was measured under, and CxF as XML', async () => {
  const cgats =
    'CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\nK-1 50 0 0\nEND_DATA\n';
  const refused = await send('?dryRun=1&family=paint', cgats, 'text/plain');
  expect(refused.body.refused).toMatchObject([{ line: 6, finish: 'K-1', code: 'colour-incomplete' }]);
  const given = await send('?dryRun=1&family=paint&illuminant=D65&observer=2deg', cgats, 'text/plain; charset=utf-8');
  expect(given.body).toMatchObject({
    format: 'cgats',
    created: [{ line: 6, finish: 'K-1', name: 'K-1' }],
    refused: [],
  });
  const cxf =
    '<CxF xmlns="http://colorexchangeformat.com/CxF3-core"><Resources><ObjectCollection><Object Id="K-2" Name="Two">' +
    '<ColorValues><ColorSRGB><R>1</R><G>2</G><B>3</B></ColorSRGB></ColorValues></Object></ObjectCollection></Resources></CxF>';
  expect((await send('?dryRun=1&family=paint', cxf, 'application/xml')).body).toMatchObject({
    format: 'cxf',
    created: [{ line: 1, finish: 'K-2', name: 'Two' }],
  });
});

it('refuses files that cannot be read as a problem, and other types, and stores nothing', async () => {
  const before = await stored();
  const cases: [string, string | Uint8Array, string, number, string][] = [
    ['', 'code,name,price\nA,b,1\n', 'text/csv', 422, 'import-unreadable'],
    ['', Buffer.from('code,name\nA,Grün\n', 'latin1'), 'text/csv', 422, 'text-encoding'],
    ['', 'code,name\nA,b\n', 'text/csv; charset=windows-1252', 422, 'text-encoding'],
    ['', '<!DOCTYPE x><x/>', 'application/xml', 422, 'import-unreadable'],
    ['', '{}', 'application/json', 415, 'media-type'],
    ['?dryrun=1', 'code,name\nA,b\n', 'text/csv', 400, 'unknown-field'],
    ['', 'x'.repeat(16 * 1024 * 1024 + 1), 'text/csv', 413, 'body-too-large'],
  ];
  for (const [query, body, type, status, code] of cases) {
    const answer = await send(query, body, type);
    expect([answer.status, answer.body.code], `${type} ${code}`).toEqual([status, code]);
  }
  expect(await stored()).toEqual(before);
  // text stays a type that other addresses do not take
  expect((await service.call('POST', '/api/files', 'text', { 'content-type': 'text/plain' })).body.code).toBe(
    'media-type',
  );
});

it('answers others while a long file is read, planned and stored, and takes in what they change meanwhile', async () => {
  const csv = makeSpectraCsv(4000);
  await service.call('PUT', '/api/finishes/C-7', { name: 'Seven', family: 'paint', colour: { hex: '#000000' } });
  let under = true;
  const importing = send('?family=paint', csv).finally(() => {
    under = false;
  });
  let answered = 0;
  let changes = 0;
  while (under) {
    expect((await service.call('GET', '/health')).status).toBe(200);
    answered += 1;
    if (answered % 20 === 0 && changes < 1) {
      changes += 1;
      await service.call('PUT', '/api/finishes/C-7', {
        name: 'Seven',
        family: 'paint',
        colour: { hex: '#000000' },
        note: 'said meanwhile',
      });
    }
  }
  const { body } = await importing;
  expect(body).toMatchObject({ stored: true, changed: [{ finish: 'C-7' }] });
  expect(body.created).toHaveLength(3999);
  // read on the service's own thread, a dozen get in while the file arrives and is stored
  expect(answered).toBeGreaterThan(100);
  const seven = (await service.call('GET', '/api/finishes/C-7')).body;
  expect(seven).toMatchObject({ name: 'Name 7', note: 'said meanwhile', colour: { spectrum: { startNm: 380 } } });
});
