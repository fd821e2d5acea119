import { request } from 'node:http';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Where pictures are public, callers without the token are guests: they may not hold up or use up what the house needs.

const TOKEN = 'quite-a-long-word-for-tests';
const AUTHORISED = { authorization: `Bearer ${TOKEN}` };
const PICTURE = '/api/products/GO/picture.png';

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_TOKEN: TOKEN, DYEWORKS_PUBLIC: 'pictures' });
  const owner: TestService = {
    ...service,
    call: (method, path, body, headers) => service.call(method, path, body, { ...AUTHORISED, ...headers }),
  };
  await putLineOfFinishes(owner);
  const slots = await addProduct(owner, 'GO', readRegistryModel('oculus-go/none.glb'));
  const variants = Object.keys(FINISHES).map((finish, row) => ({
    code: `V${row}`,
    name: `All in ${finish}`,
    choices: Object.fromEntries(slots.map((slot) => [slot, finish])),
  }));
  const put = await owner.call('PUT', '/api/products/GO/schedule', { default: 'V0', variants });
  expect(put.status).toBe(200);
}, 60_000);
afterAll(() => service?.close());

const asGuest = (path: string) => service.call('GET', path);
const asOwner = (path: string) => service.call('GET', path, undefined, AUTHORISED);

/** A guest's call that can be abandoned. */
function startCall(path: string): { readonly ended: Promise<void>; leave(): void } {
  const call = request(service.url + path, { agent: false });
  const ended = new Promise<void>((resolve) => {
    call.on('response', (answer) => answer.resume().on('close', resolve));
    call.on('error', () => resolve());
  });
  call.end();
  return { ended, leave: () => call.destroy() };
}

describe('guests', () => {
  it('get no picture that takes the studio long', async () => {
    for (const query of ['size=4096', 'width=64&height=2049', 'samples=64', 'direct=1']) {
      const answer = await asGuest(`${PICTURE}?${query}`);
      expect([query, answer.status, answer.body.code]).toEqual([query, 401, 'token-needed']);
    }
  });

  it('wait for the owner, whose small picture goes between the tiles of theirs', { timeout: 180_000 }, async () => {
    // starts the browser
    expect((await asOwner(`${PICTURE}?size=40`)).status).toBe(200);
    const order: string[] = [];
    const large = asGuest(`${PICTURE}?size=2048`).then(({ status }) => order.push(`guest ${status}`));
    const others = [1, 2, 3].map((n) => asGuest(`${PICTURE}?width=1100&height=${1100 + n}`));
    for (const answer of others) answer.then(({ status }) => order.push(`guest ${status}`));
    // until the guests' pictures are under way
    await new Promise((resolve) => setTimeout(resolve, 300));
    await asOwner(`${PICTURE}?size=64&view=side`).then(({ status }) => order.push(`owner ${status}`));
    await Promise.all([large, ...others]);
    expect(order[0]).toBe('owner 200');
    expect(order.slice(1)).toEqual(['guest 200', 'guest 200', 'guest 200', 'guest 200']);
  });

  it('who leave are forgotten: nothing is made for them', { timeout: 120_000 }, async () => {
    const paths = Array.from({ length: 12 }, (_, n) => `${PICTURE}?width=900&height=${900 + n}`);
    const calls = paths.map(startCall);
    await new Promise((resolve) => setTimeout(resolve, 200));
    for (const { leave } of calls) leave();
    await Promise.all(calls.map(({ ended }) => ended));
    // whatever was begun has ended, since a guest comes last
    expect((await asGuest(`${PICTURE}?size=44`)).status).toBe(200);
    let stored = 0;
    for (const path of paths.slice(4)) {
      stored += (await asOwner(path)).headers.get('picture-source') === 'stored' ? 1 : 0;
    }
    expect(stored).toBe(0);
  });

  it('have a budget of new pictures, but may read what exists; the owner has none', { timeout: 120_000 }, async () => {
    const chip = (size: number) => `/api/finishes/OAK-1/swatch.png?kind=chip&size=${size}`;
    let refused = null;
    let size = 32;
    for (; size < 400 && refused === null; size++) {
      const answer = await asGuest(chip(size));
      if (answer.status !== 200) refused = answer;
    }
    expect([refused?.status, refused?.body.code]).toEqual([429, 'guest-budget']);
    expect(refused?.headers.get('retry-after')).toMatch(/^[1-9]\d*$/);
    expect(refused?.headers.get('cache-control')).toBe('no-store');
    expect((await asGuest(chip(33))).headers.get('picture-source')).toBe('stored');
    expect((await asOwner(chip(size + 1))).status).toBe(200);
  });
});
