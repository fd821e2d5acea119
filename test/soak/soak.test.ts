import { afterAll, beforeAll, expect, it } from 'vitest';
import { startService, type TestService } from '../support/start-service.ts';
import { runSoak } from './soak.ts';

// The short form of `npm run soak`: a few people at once, for some turns.

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});
afterAll(() => service.close());

it('loses nothing and breaks nothing while many read and some write', async () => {
  const report = await runSoak({ url: service.url, readers: 8, writers: 3, goOn: (turn) => turn < 3 });
  expect({ faults: report.faults, lost: report.lost }).toEqual({ faults: [], lost: [] });
  expect(report.confirmed).toBeGreaterThan(3 * 3 * 2);
});
