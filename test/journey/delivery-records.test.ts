import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { addPerson } from '../support/people.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A delivery carries a note, can be withdrawn and is never deleted, and `current` is the newest that is not withdrawn.

let service: TestService;
const base = '/api/products/TOUCH/deliveries';
const get = (path: string) => service.call('GET', `${base}/${path}`);
const deliver = (body: object = {}) => service.call('POST', base, body);
const recolour = (hex: string) => {
  const { name, family } = FINISHES['TARN.3']!;
  return service.call('PUT', '/api/finishes/TARN.3', { name, family, colour: { hex } });
};
/** Status, code and the withdrawal's reason of an answer without JSON, or with a problem. */
async function fetchFile(path: string, headers: Record<string, string> = {}) {
  const answer = await fetch(`${service.url}${base}/${path}`, { headers, redirect: 'manual' });
  const bytes = Buffer.from(await answer.arrayBuffer());
  const isProblem = answer.headers.get('content-type')?.startsWith('application/problem+json');
  return {
    status: answer.status,
    headers: answer.headers,
    bytes,
    problem: isProblem ? JSON.parse(String(bytes)) : null,
  };
}

beforeAll(async () => {
  service = await startService({ DYEWORKS_PUBLIC: 'deliveries' });
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const variants = [
    { code: 'A', name: 'Tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } },
    { code: 'B', name: 'Coal', choices: { [shell]: 'COAL_4', [trim]: 'OAK-1' } },
  ];
  expect((await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'A', variants })).status).toBe(200);
});
afterAll(() => service.close());

it('has no current delivery before the first', async () => {
  expect((await fetchFile('current/model.glb')).problem).toMatchObject({ status: 404, code: 'no-delivery' });
  expect((await get('current')).body.code).toBe('no-delivery');
});

it('carries a note, in its record, its manifest and the list', async () => {
  const note = 'For the spring catalogue.\nתודה & <b>“thanks”</b>';
  const made = await deliver({ note: `  ${note}\u0007 \r\n` });
  expect([made.status, made.body.note]).toEqual([201, note]);
  expect((await get('1')).body.note).toBe(note);
  expect((await get('1/manifest.json')).body.note).toBe(note);
  expect((await service.call('GET', base)).body.deliveries[0].note).toBe(note);
  // one that stands keeps its own
  const again = await deliver({ note: 'Another' });
  expect([again.status, again.body.note]).toEqual([200, note]);
  expect((await deliver({ note: 'x'.repeat(2001) })).body.code).toBe('invalid-field');
});

it('serves the newest as current, for a short time only', async () => {
  const [one, current] = [await fetchFile('1/model.glb'), await fetchFile('current/model.glb')];
  expect(current.bytes.equals(one.bytes)).toBe(true);
  expect(current.headers.get('etag')).toBe(one.headers.get('etag'));
  expect(one.headers.get('cache-control')).toContain('immutable');
  expect(current.headers.get('cache-control')).toBe('public, max-age=60');
  await recolour('#335566');
  expect((await deliver()).body.delivery).toBe(2);
  const { bytes } = await fetchFile('2/model.glb');
  expect((await fetchFile('current/model.glb')).bytes.equals(bytes)).toBe(true);
  expect((await get('current/manifest.json')).body.delivery).toBe(2);
  expect((await fetchFile('current/model.glb', { range: 'bytes=0-3' })).bytes.toString()).toBe('glTF');
});

describe('a withdrawal', () => {
  const reason = 'The blue is wrong.';

  it('needs a reason', async () => {
    for (const given of ['', ' \n ']) {
      const refused = await service.call('POST', `${base}/2/withdraw`, { reason: given });
      expect([refused.status, refused.body.code]).toEqual([422, 'withdrawal-needs-reason']);
    }
    expect((await service.call('POST', `${base}/2/withdraw`, {})).body.code).toBe('invalid-field');
    expect((await service.call('POST', `${base}/9/withdraw`, { reason })).body.code).toBe('unknown-delivery');
    expect((await fetchFile('2/model.glb')).status).toBe(200);
  });

  it('answers each file with 410 and the reason, and keeps the record', async () => {
    const withdrawn = await service.call('POST', `${base}/2/withdraw`, { reason }, { 'dyeworks-person': 'Mara' });
    expect(withdrawn.status).toBe(200);
    expect(withdrawn.body.withdrawn).toMatchObject({ reason, person: 'Mara' });
    for (const path of ['model.glb', 'model.glb?variants=A', 'variants/A.glb', 'bundle.zip', 'parts/x.glb']) {
      const { status, problem, headers } = await fetchFile(`2/${path}`);
      expect([status, problem?.code], path).toEqual([410, 'delivery-withdrawn']);
      expect(problem.detail).toContain(reason);
      expect(problem.received).toMatchObject({ delivery: 2, reason });
      expect(headers.get('cache-control')).toBe('no-store');
    }
    // nor to a caller whose copy is the same
    const { sha256 } = (await get('2')).body;
    expect((await fetchFile('2/model.glb', { 'if-none-match': `"${sha256}"` })).status).toBe(410);
    for (const path of ['2', '2/manifest.json']) expect((await get(path)).body.withdrawn.reason).toBe(reason);
    expect((await get('2/changes')).status).toBe(200);
    expect((await get('2/weight')).status).toBe(200);
    expect((await fetchFile('1/model.glb')).status).toBe(200);
  });

  it('counts once', async () => {
    const again = await service.call('POST', `${base}/2/withdraw`, { reason: 'Another' });
    expect([again.status, again.body.code]).toEqual([409, 'already-withdrawn']);
    expect((await get('2')).body.withdrawn.reason).toBe(reason);
    const [, ...both] = await Promise.all([
      deliver(),
      ...['a', 'b'].map((why) => service.call('POST', `${base}/1/withdraw`, { reason: why })),
    ]);
    expect(both.map(({ status }) => status).sort()).toEqual([200, 409]);
  });

  it('compares what comes next with the newest that stands, and never uses a number again', async () => {
    const { deliveries } = (await service.call('GET', base)).body;
    const numbers = deliveries.map(({ delivery }: { delivery: number }) => delivery);
    const standing = deliveries.filter((each: { withdrawn?: object }) => !each.withdrawn);
    expect(standing.every((each: { delivery: number }) => each.delivery > 2)).toBe(true);
    for (const { delivery } of standing) {
      expect((await service.call('POST', `${base}/${delivery}/withdraw`, { reason })).status).toBe(200);
    }
    expect((await get('pending')).body).toMatchObject({ since: null, outdated: false });
    expect((await fetchFile('current/model.glb')).problem.code).toBe('no-delivery');
    // the same content as the withdrawn one, and nothing stands: a new delivery
    const next = await deliver();
    expect([next.status, next.body.delivery]).toEqual([201, Math.max(...numbers) + 1]);
    await recolour('#224466');
    expect((await get('pending')).body).toMatchObject({ since: next.body.delivery, outdated: true });
    expect((await deliver()).body.delivery).toBe(next.body.delivery + 1);
    expect((await service.call('POST', `${base}/current/withdraw`, { reason })).body.delivery).toBe(
      next.body.delivery + 1,
    );
    expect((await get('pending')).body).toMatchObject({ since: next.body.delivery, outdated: true });
    expect((await get('current')).body.delivery).toBe(next.body.delivery);
  });
});

it('is up to approvers, and recorded with its person', async () => {
  const owner = await addPerson(service, { account: 'olu', role: 'owner' });
  const editor = await addPerson(service, { account: 'ed', role: 'editor' }, owner);
  const approver = await addPerson(service, { account: 'ap', name: 'Ada', role: 'approver' }, owner);
  const refused = await editor.call('POST', `${base}/current/withdraw`, { reason: 'No' });
  expect([refused.status, refused.body.code]).toEqual([403, 'not-allowed']);
  const allowed = await approver.call('POST', `${base}/current/withdraw`, { reason: 'Yes.' });
  expect([allowed.status, allowed.body.withdrawn.person]).toEqual([200, 'Ada']);
  const { body } = await owner.call('GET', '/api/audit');
  const entries = body.entries.filter(({ what }: { what: string }) => what.endsWith('/withdraw'));
  const told = entries.map((each: { status: number | null; refusal: string | null }) => each.refusal ?? each.status);
  expect(told).toContain('not-allowed');
  // stored in the transaction of the change
  expect(told).toContain(null);
});
