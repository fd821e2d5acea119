import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { waitForJob } from '../support/run-job.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';

// RFC 9111: `private` keeps an answer out of shared caches (§5.2.2.7), `no-cache` makes the browser's own ask again (§5.2.2.4),
// `public` lets a shared cache keep what it otherwise may not (§5.2.2.9), RFC 8246: `immutable`.

const TOKEN = 'quite-a-long-word-for-tests';
const AUTHORISED = { authorization: `Bearer ${TOKEN}` };

/** An address of each download, and where it is public. */
const DOWNLOADS: readonly {
  readonly path: string;
  readonly part?: string;
  readonly changes?: true;
  readonly control?: string;
}[] = [
  { path: '/api/products/CHAIR/model.glb' },
  { path: '/api/products/CHAIR/revisions/1/model.glb' },
  { path: '/api/products/CHAIR/studio/KEY.glb' },
  { path: '/api/products/CHAIR/deliveries/1/model.glb', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/variants/A.glb', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/variants/A.usdz', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/product.usdz', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/parts/PART.glb', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/samples.glb', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/forms/quantised.glb', part: 'deliveries' },
  { path: '/api/products/CHAIR/deliveries/1/bundle.zip', part: 'deliveries', changes: true },
  { path: '/api/products/CHAIR/deliveries/1/feed.csv', part: 'deliveries', changes: true },
  { path: '/api/products/CHAIR/deliveries/1/feed.jsonld', part: 'deliveries', changes: true },
  { path: '/api/products/CHAIR/pictures/A.png?size=40', part: 'pictures' },
  { path: '/api/products/CHAIR/picture.png?size=40', part: 'pictures' },
  { path: '/api/products/CHAIR/picture.webp?size=40', part: 'pictures' },
  { path: '/api/products/CHAIR/picture.jpg?size=40', part: 'pictures' },
  { path: '/api/finishes/OAK-1/swatch.png?kind=chip', part: 'pictures' },
  { path: '/api/finishes/OAK-1/swatch.webp?kind=chip', part: 'pictures' },
  { path: '/api/finishes/OAK-1/swatch.jpg?kind=chip', part: 'pictures' },
  { path: '/api/products/CHAIR/pieces.bin' },
  { path: '/api/products/CHAIR/catalogue.zip?size=40' },
  { path: '/api/products/CHAIR/picture-sets/SMALL.zip' },
  { path: '/api/products/CHAIR/picture-sets/SMALL/files/FILE' },
  { path: '/api/lines/FEN/colour-card.pdf?panels=0' },
  { path: '/api/products/CHAIR/schedule.pdf?pictures=0' },
  { path: '/api/products/CHAIR/schedule/check-set.pdf?pictures=0' },
  { path: '/api/files/SHA/image' },
  { path: '/api/finishes/import/example.csv' },
  // all that the house knows of the line
  { path: '/api/lines/FEN/archive.zip', control: 'private, no-store' },
  { path: '/api/audit.csv' },
  { path: '/api/audit.jsonl' },
];

describe.each(['none', 'deliveries', 'pictures'])('with DYEWORKS_PUBLIC=%s', (parts) => {
  let service: TestService;
  let keys: Record<string, string>;
  const get = (path: string, headers: Record<string, string> = AUTHORISED): Promise<Answer> =>
    service.call(
      'GET',
      path.replace(/KEY|SHA|FILE|PART/, (name) => keys[name]!),
      undefined,
      headers,
    );

  beforeAll(async () => {
    const started = await startService({ DYEWORKS_TOKEN: TOKEN, DYEWORKS_PUBLIC: parts });
    service = {
      ...started,
      call: (method, path, body, headers) => started.call(method, path, body, { ...AUTHORISED, ...headers }),
    };
    await putLineOfFinishes(service);
    const [slot] = await addProduct(service, 'CHAIR', readRegistryModel('generic-hand/left.glb'));
    // of two price grades, so that the delivery can be split
    const variants = ['OAK-1', 'TARN.3'].map((finish, at) => {
      const code = 'AB'[at]!;
      return { code, name: code, choices: { [slot!]: finish } };
    });
    await service.call('PUT', '/api/products/CHAIR/schedule', { default: 'A', variants });
    const delivered = await service.call('POST', '/api/products/CHAIR/deliveries', { splitBy: 'grade' });
    expect(delivered.status).toBe(201);
    const made = await service.call('POST', '/api/products/CHAIR/deliveries', { forms: ['quantised'] });
    expect(made.status).toBe(202);
    await waitForJob(service, made.body.job.split('/').at(-1));
    const part = delivered.body.files.find(({ form }: { form: string }) => form.startsWith('parts/')).form;
    const small = { name: 'Small', sizes: [40], format: 'webp', views: ['front'], ground: 'white' };
    expect((await service.call('PUT', '/api/picture-sets/SMALL', small)).status).toBe(201);
    const { body: plan } = await service.call('GET', '/api/products/CHAIR/picture-sets/SMALL');
    const { body: look } = await service.call('GET', '/api/products/CHAIR/look');
    const { body: image } = await service.call('GET', '/api/finishes/ASH-2/swatch.png?kind=chip');
    const { body: file } = await service.call('POST', '/api/files', image, { 'content-type': 'image/png' });
    keys = {
      KEY: /studio\/(\w+)\.glb/.exec(look.file)![1]!,
      SHA: file.sha256,
      FILE: plan.files[0].name,
      PART: /\/(.+)\.glb/.exec(part)![1]!,
    };
  }, 120_000);
  afterAll(() => service?.close());

  it.each(DOWNLOADS)(
    '$path: shared caches may keep it only if it is public',
    { timeout: 60_000 },
    async ({ path, part, changes, control: stated }) => {
      const { status, headers } = await get(path);
      const control = headers.get('cache-control');
      expect(status).toBe(200);
      if (part === undefined || !parts.includes(part)) {
        expect(control).toBe(stated ?? 'private, no-cache');
        if (stated) return;
        expect(headers.get('vary')).toBe('authorization, cookie');
        return;
      }
      expect(control).toBe(
        part === 'deliveries' && !changes ? 'public, max-age=31536000, immutable' : 'public, no-cache',
      );
      // the answer to a caller without the token is the same
      expect((await get(path, { authorization: '' })).headers.get('cache-control')).toBe(control);
    },
  );

  it('says so with an answer that nothing has changed, and keeps refusals out of all caches', async () => {
    const path = '/api/finishes/OAK-1/swatch.png?kind=chip';
    const { headers } = await get(path);
    const again = await get(path, { ...AUTHORISED, 'if-none-match': headers.get('etag')! });
    expect([again.status, again.headers.get('cache-control')]).toEqual([304, headers.get('cache-control')]);
    for (const call of [get('/api/products/NONE/model.glb'), get('/api/products', { authorization: 'Bearer wrong' })]) {
      expect((await call).headers.get('cache-control')).toBe('no-store');
    }
    const beyond = await get('/api/products/CHAIR/deliveries/1/model.glb', {
      ...AUTHORISED,
      range: 'bytes=999999999-',
    });
    expect([beyond.status, beyond.headers.get('cache-control')]).toEqual([416, 'no-store']);
  });

  it('lists every download here, and keeps all other data private', async () => {
    const { paths } = (await get('/api/openapi.json')).body;
    const listed = DOWNLOADS.map(({ path }) => path.split('?')[0]!);
    for (const [path, { get: read }] of Object.entries<Record<string, Operation>>(paths)) {
      if (!read) continue;
      const pattern = new RegExp(`^${path.replace(/\{\w+\}/g, '[^/]+').replaceAll('.', '\\.')}$`);
      const types = Object.keys(read.responses[200]?.content ?? {});
      const isDownload = types.some((type) => type !== 'application/json' && type !== 'text/event-stream');
      if (isDownload)
        expect(
          listed.filter((address) => pattern.test(address)),
          path,
        ).not.toEqual([]);
    }
    for (const path of [
      '/api/products',
      '/api/products/CHAIR',
      '/api/products/CHAIR/schedule',
      '/api/finishes',
      '/docs',
    ])
      expect([path, (await get(path)).headers.get('cache-control')]).toEqual([path, 'private, no-cache']);
  });
});

interface Operation {
  readonly responses: Readonly<Record<string, { readonly content?: object }>>;
}

it('without a token, downloads are as private', async () => {
  const service = await startService();
  try {
    await service.call('PUT', '/api/finishes/TARN', { name: 'Tarn', family: 'paint', colour: { hex: '#2f5d73' } });
    const { headers } = await service.call('GET', '/api/finishes/TARN/swatch.png?kind=chip');
    expect(headers.get('cache-control')).toBe('private, no-cache');
  } finally {
    await service.close();
  }
});
