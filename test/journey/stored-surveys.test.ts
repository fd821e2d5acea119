import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { Database } from '../../db/open-database.ts';
import { triangleGlb } from '../support/bad-models.ts';
import { addProduct, GLB, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Data stored by an earlier version must not prevent anything: neither measurements that JSON turned into nulls, nor a
// model that was accepted then and is refused now.

let service: TestService;
let database: InstanceType<typeof Database>;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  database = new Database(join(service.dataFolder, 'dyeworks.sqlite'));
});
afterAll(async () => {
  database.close();
  await service.close();
});

/** Changes a stored survey to that of an older version, whose surveys had fewer values. */
function age(product: string, change: string): void {
  const { changes } = database
    .prepare(`update models set survey = json_set(survey, '$.format', 1, ${change}) where product_key = lower(?)`)
    .run(product);
  expect(changes).toBe(1);
}

const PAGES = (code: string) => [
  '/api/products',
  `/api/products/${code}`,
  `/api/products/${code}/survey`,
  `/api/products/${code}/readiness`,
  `/api/products/${code}/slots`,
  `/api/products/${code}/revisions`,
  `/api/products/${code}/deliveries`,
];

it('a size of nulls is measured again', async () => {
  await addProduct(service, 'NULLS', triangleGlb());
  age('NULLS', `'$.size', json('{"widthMm":null,"depthMm":0,"heightMm":null}'), '$.box', json('null')`);
  // read before anything measures it again
  const { body: revisions } = await service.call('GET', '/api/products/NULLS/revisions');
  expect(revisions.revisions[0].size).toBeNull();
  for (const page of PAGES('NULLS')) expect((await service.call('GET', page)).status, page).toBe(200);
  const { body } = await service.call('GET', '/api/products/NULLS');
  expect(body.size).toEqual({ widthMm: 1000, depthMm: 0, heightMm: 1000 });
});

it('a model that can no longer be read is listed with a message, and another one can replace it', async () => {
  await addProduct(service, 'LOST', triangleGlb({ nodes: [{ mesh: 0, name: 'lost' }] }));
  age('LOST', `'$.bytes', 0`);
  const { body } = await service.call('GET', '/api/products/LOST');
  const { sha256 } = body.model;
  const { sha256: other } = (await service.call('GET', '/api/products/NULLS')).body.model;
  expect(sha256).not.toBe(other);
  age('LOST', `'$.bytes', 0`);
  writeFileSync(join(service.dataFolder, 'files', sha256.slice(0, 2), sha256), 'no model');
  for (const page of PAGES('LOST')) expect((await service.call('GET', page)).status, page).toBe(200);
  const readiness = (await service.call('GET', '/api/products/LOST/readiness')).body;
  expect(readiness.verdict).toBe('blocked');
  expect(readiness.findings.filter(({ code }: { code: string }) => code !== 'no-schedule')).toMatchObject([
    { code: 'nothing-to-draw', severity: 'error' },
  ]);
  const again = await service.call('PUT', '/api/products/LOST/model', triangleGlb({ nodes: [{ mesh: 0 }] }), GLB);
  expect(again.status).toBe(201);
  expect((await service.call('GET', '/api/products/LOST')).body.size).not.toBeNull();
});
