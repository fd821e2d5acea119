import { setTimeout } from 'node:timers/promises';
import { afterEach, expect, it } from 'vitest';
import { readUsage } from '../../renderer/read-usage.ts';
import { listBrowserProcesses, listStudioBrowsers } from '../support/browser-processes.ts';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The browser loses its GL context in the middle of a picture that somebody asked the service for: its graphics process ends.

const closers: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const close of closers.splice(0).reverse()) await close();
});

async function fill(engines: 'own' | 'shared'): Promise<TestService> {
  const service = await startService({}, undefined, { engines });
  closers.push(() => service.close());
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const variants = [{ code: 'V1', name: 'Tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } }];
  expect((await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'V1', variants })).status).toBe(200);
  return service;
}

const WORK = ['/api/products/TOUCH/picture.png?size=1024', '/api/finishes/OAK-1/swatch.png?kind=sphere&size=1024'];

it('a lost GL context in the middle of a picture costs its caller nothing but time', { timeout: 600_000 }, async () => {
  const undisturbed = await fill('shared');
  const expected: Awaited<ReturnType<TestService['call']>>[] = [];
  for (const path of WORK) expected.push(await undisturbed.call('GET', path));
  const service = await fill('own');
  const known = new Set(listStudioBrowsers());
  // opens the service's own browser
  expect((await service.call('GET', '/api/finishes/OAK-1/swatch.png?kind=sphere&size=64')).status).toBe(200);
  const browsers = () => listStudioBrowsers().filter((pid) => !known.has(pid));
  for (const [index, path] of WORK.entries()) {
    const [browser] = browsers();
    const before = (await readUsage(browser!))!.graphicsMs;
    const asked = service.call('GET', path);
    // once it draws, and before the next picture
    while ((await readUsage(browser!))!.graphicsMs < before + 30) await setTimeout(5);
    for (const { pid, kind } of listBrowserProcesses(browser!))
      if (kind === 'gpu-process') process.kill(pid, 'SIGKILL');
    const answer = await asked;
    expect([answer.status, expected[index]!.status]).toEqual([200, 200]);
    expect(Buffer.from(answer.body as Uint8Array).equals(Buffer.from(expected[index]!.body as Uint8Array))).toBe(true);
    // the next one, by a new browser or by the same one
    expect((await service.call('GET', path.replace('1024', '96'))).status).toBe(200);
    expect(browsers()).toHaveLength(1);
    expect(browsers()).not.toContain(browser);
  }
});
