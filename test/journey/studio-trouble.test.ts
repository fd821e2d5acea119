import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { glbWithImage, triangleGlb } from '../support/bad-models.ts';
import { listStudioBrowsers } from '../support/browser-processes.ts';
import { addProduct, FINISHES, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';

// Answers to callers when the studio is full, when its browser is killed, and when a request cannot be pictured.
// Statuses are the contract's: 503 with Retry-After (RFC 9110 §15.6.4 and §10.2.3) when something is full.

/** Shots that can wait beside the current one; one more is refused. */
const QUEUE = 64;

/** Browsers of other tests, which this one leaves alone. */
const others = listStudioBrowsers();
let service: TestService;
beforeAll(async () => {
  service = await startService({}, undefined, { engines: 'own' });
  await putLineOfFinishes(service);
  const slots = await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'));
  const variants = Object.keys(FINISHES).map((finish, row) => ({
    code: `V${row}`,
    name: `All in ${finish}`,
    choices: Object.fromEntries(slots.map((slot) => [slot, finish])),
  }));
  expect((await service.call('PUT', '/api/products/GO/schedule', { default: 'V0', variants })).status).toBe(200);
});
afterAll(() => service.close());

const get = (path: string) => service.call('GET', path);

function expectBusy({ status, headers, body }: Answer, code: string): void {
  expect([status, body.code]).toEqual([503, code]);
  expect(headers.get('content-type')).toMatch(/^application\/problem\+json/);
  // a number of seconds, §10.2.3
  expect(headers.get('retry-after')).toMatch(/^[1-9]\d*$/);
}

/** Checks that the studio still makes a picture. */
async function expectPicture(): Promise<void> {
  const { status, body } = await get('/api/products/GO/picture.png?size=40&direct=1');
  expect(status).toBe(200);
  const { dominant } = await sharp(body).stats();
  expect(dominant).toBeDefined();
  expect((await sharp(body).metadata()).width).toBe(40);
}

describe('when the studio is full', () => {
  it('excess requests get Retry-After, all others succeed, and the excess ones succeed later', async () => {
    // nothing finishes before the browser has started, which takes longer than sending the requests
    const paths = Array.from({ length: QUEUE + 16 }, (_, n) => `/api/finishes/TARN.3/swatch.png?size=${32 + n}`);
    const answers = await Promise.all(paths.map((path) => get(path)));
    const refused = answers.filter(({ status }) => status !== 200);
    expect(refused.length).toBeGreaterThan(0);
    expect(answers.length - refused.length).toBeGreaterThanOrEqual(QUEUE);
    for (const answer of refused) expectBusy(answer, 'renderer-busy');
    const again = await get(paths[answers.indexOf(refused[0]!)]!);
    expect(again.status).toBe(200);
  });

  it('jobs beyond a hundred get Retry-After too', async () => {
    const add = () => service.call('POST', '/api/products/GO/pictures', { sizes: [512], views: ['back'] });
    const jobs: string[] = [];
    let last: Answer;
    do {
      last = await add();
      if (last.status === 202) jobs.push(last.body.id);
    } while (last.status === 202 && jobs.length < 200);
    expectBusy(last, 'queue-full');
    expect(jobs.length).toBeGreaterThanOrEqual(100);
    for (const id of jobs.reverse()) await service.call('DELETE', `/api/jobs/${id}`);
    await expectPicture();
  });
});

describe('when the browser is killed', () => {
  it('in the middle of a job, the job still finishes completely', async () => {
    const request = { sizes: [64, 96], formats: ['webp'], views: ['side', 'top', 'front'] };
    const { status, body: job } = await service.call('POST', '/api/products/GO/pictures', request);
    expect([status, job.total]).toEqual([202, 30]);
    let killed = 0;
    let seen = -1;
    for await (const { done, state } of readJob(job.id)) {
      // twice, each time after further pictures
      if (killed < 2 && done > seen && done > 0 && state === 'running') {
        const browsers = listStudioBrowsers().filter((pid) => !others.includes(pid));
        for (const pid of browsers) process.kill(pid, 'SIGKILL');
        killed += browsers.length > 0 ? 1 : 0;
        seen = done + 8;
      }
    }
    expect(killed).toBe(2);
    expect((await get(`/api/jobs/${job.id}`)).body).toMatchObject({ state: 'done', done: 30, failed: 0, failures: [] });
    for (const view of request.views) {
      const picture = await get(`/api/products/GO/pictures/V4.webp?size=96&view=${view}`);
      expect(picture.headers.get('picture-source')).toBe('stored');
      // a lost picture would have empty alpha
      expect((await sharp(picture.body).stats()).channels[3]!.max).toBe(255);
    }
  });
});

/** Follows a job to its end. */
async function* readJob(id: string): AsyncGenerator<{ done: number; state: string }> {
  for (;;) {
    const { body } = await get(`/api/jobs/${id}`);
    yield body;
    if (!['queued', 'running'].includes(body.state)) return;
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}

describe('what cannot be pictured is refused, and the studio keeps working', () => {
  it('a model without a triangle', async () => {
    expect((await service.call('POST', '/api/products', { code: 'POINTS', name: 'Points' })).status).toBe(201);
    // mode 0 of glTF 2.0 §3.7.2.1: points
    const points = triangleGlb({
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, material: 0, mode: 0 }] }],
    });
    expect((await service.call('PUT', '/api/products/POINTS/model', points, GLB)).status).toBe(201);
    const answer = await get('/api/products/POINTS/picture.png');
    expect([answer.status, answer.body.code]).toEqual([422, 'picture-nothing-to-see']);
    await expectPicture();
  });

  it('a texture of 16384 × 16384, in a model and as a map', async () => {
    // a quarter of a billion pixels compress to little, and would decode to a gigabyte
    const image = await sharp({
      create: { width: 16384, height: 16384, channels: 3, background: '#7a5c3e' },
      limitInputPixels: false,
    })
      .png({ compressionLevel: 9 })
      .toBuffer();
    expect((await service.call('POST', '/api/products', { code: 'HUGE', name: 'Huge' })).status).toBe(201);
    const memory = process.memoryUsage().rss;
    for (const answer of [
      await service.call('PUT', '/api/products/HUGE/model', glbWithImage(image), GLB),
      await service.call('POST', '/api/files', image, { 'content-type': 'image/png' }),
    ]) {
      expect([answer.status, answer.body.code]).toEqual([413, 'image-too-large']);
      expect(answer.body).toMatchObject({ received: 16384 ** 2, expected: 8192 ** 2 });
    }
    // the header gives the size; the image is never decoded
    expect(process.memoryUsage().rss - memory).toBeLessThan(256 * 1024 * 1024);
    expect((await get('/api/products/HUGE/picture.png')).body.code).toBe('no-model');
    await expectPicture();
  });
});
