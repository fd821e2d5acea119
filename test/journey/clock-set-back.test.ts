import { afterAll, afterEach, beforeAll, expect, it, vi } from 'vitest';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A whole service whose clock is set back by a day while it runs. Access, files and pictures have tests of their own in
// `test/db/clock-set-back.test.ts`.

let service: TestService;
beforeAll(async () => {
  // pictures are not the matter here
  service = await startService({ DYEWORKS_BROWSER: '/nowhere' });
});
afterEach(() => vi.useRealTimers());
afterAll(() => service.close());

it('goes on: what was stored is read, changes count on, and newer entries stay first', async () => {
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const schedule = (name: string) => ({
    default: 'V1',
    variants: [{ code: 'V1', name, choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } }],
  });
  const expectDone = async (method: string, path: string, body?: object) => {
    const answer = await service.call(method, path, body);
    expect([path, answer.status < 300, answer.body.code]).toEqual([path, true, answer.body.code]);
    return answer.body;
  };
  const oak = (name: string) => ({ name, family: 'wood', colour: { hex: '#b08a5b' } });
  await expectDone('PUT', '/api/finishes/OAK-1', oak('Before'));
  await expectDone('PUT', '/api/products/TOUCH/schedule', schedule('Before'));
  await expectDone('POST', '/api/products/TOUCH/deliveries', {});

  vi.useFakeTimers({ toFake: ['Date'] });
  vi.setSystemTime(Date.now() - 86_400_000);
  await expectDone('PUT', '/api/finishes/OAK-1', oak('After'));
  await expectDone('PUT', '/api/products/TOUCH/schedule', schedule('After'));
  await expectDone('POST', '/api/products/TOUCH/repairs', { repairs: [{ repair: 'scale', factor: 2 }] });
  await expectDone('POST', '/api/products/TOUCH/deliveries', {});

  const { revisions } = await expectDone('GET', '/api/finishes/OAK-1/revisions');
  const { deliveries } = await expectDone('GET', '/api/products/TOUCH/deliveries');
  expect(deliveries.map(({ delivery }: { delivery: number }) => delivery)).toEqual([2, 1]);
  const numbers = revisions.map(({ revision }: { revision: number }) => revision);
  expect(numbers).toEqual([...numbers].sort((a, b) => b - a));
  expect((await expectDone('GET', '/api/finishes/OAK-1')).name).toBe('After');
  for (const path of ['/ready', '/api/products', '/api/finishes', '/api/products/TOUCH/readiness'])
    await expectDone('GET', path);
});
