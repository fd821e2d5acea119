import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, putLineOfFinishes } from '../../../support/job.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

// ETag, If-Match and If-None-Match of everything that people edit, as RFC 9110 §8.8.3 and §13.1 have them.

let service: TestService;
let slot: string;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [slot] = (await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'))) as [string];
});
afterAll(() => service.close());

interface Edited {
  readonly name: string;
  readonly path: () => string;
  readonly method?: 'PUT' | 'PATCH';
  /** Two edits that differ. */
  readonly edits: readonly [object, object] | (() => readonly [object, object]);
  readonly code: string;
  /** There is one before anyone has stored one. */
  readonly always?: true;
  readonly deletable?: true;
}

const budget = (label: string) => ({
  label,
  fileBytes: { recommended: 1 },
  triangles: { recommended: 1 },
  draws: { recommended: 1 },
  texturePx: 1024,
});
const schedule = (name: string) => ({ default: 'V', variants: [{ code: 'V', name, choices: { [slot]: 'COAL_4' } }] });
const finish = (name: string) => ({ name, family: 'paint', colour: { hex: '#102030' } });

const EDITED: readonly Edited[] = [
  {
    name: 'a finish',
    path: () => '/api/finishes/NEW',
    edits: [finish('One'), finish('Two')],
    code: 'stale-finish',
    deletable: true,
  },
  {
    name: 'an article',
    path: () => '/api/articles/CLOTH',
    edits: [
      { name: 'One', family: 'textile' },
      { name: 'Two', family: 'textile' },
    ],
    code: 'stale-article',
  },
  {
    name: 'a line',
    path: () => '/api/lines/NEW',
    edits: [{ name: 'One' }, { name: 'Two' }],
    code: 'stale-line',
    deletable: true,
  },
  {
    name: 'a picture set',
    path: () => '/api/picture-sets/mine',
    edits: [
      { name: 'One', sizes: [64], format: 'png' },
      { name: 'Two', sizes: [64], format: 'png' },
    ],
    code: 'stale-picture-set',
    deletable: true,
  },
  {
    name: 'a budget',
    path: () => '/api/budgets/mine',
    edits: [budget('One'), budget('Two')],
    code: 'stale-budget',
    deletable: true,
  },
  {
    name: 'a schedule',
    path: () => '/api/products/GO/schedule',
    edits: () => [schedule('One'), schedule('Two')],
    code: 'stale-schedule',
    deletable: true,
  },
  {
    name: 'a preparation',
    path: () => '/api/products/GO/preparation',
    edits: [{ steps: [{ repair: 'fix-scene' }] }, { steps: [{ repair: 'strip-unused' }] }],
    code: 'stale-preparation',
  },
  {
    name: 'a product',
    path: () => '/api/products/GO',
    method: 'PATCH',
    edits: [{ name: 'One' }, { name: 'Two' }],
    code: 'stale-product',
    always: true,
  },
  {
    name: 'a slot',
    path: () => `/api/products/GO/slots/${slot}`,
    method: 'PATCH',
    edits: [{ label: 'One' }, { grainDegrees: 30 }],
    code: 'stale-slot',
    always: true,
  },
  {
    name: 'the rules of a line',
    path: () => '/api/lines/FEN/rules',
    edits: [{ rules: [] }, { rules: [{ when: { position: 'shell' }, sameAs: { position: 'trim' } }] }],
    code: 'stale-line',
    always: true,
  },
];

const tagOf = (answer: { readonly headers: Headers }) => answer.headers.get('etag')!;
const list = (edits: Edited['edits']) => (typeof edits === 'function' ? edits() : edits);

describe.each(EDITED)('$name', ({ path, method = 'PUT', edits, code, always }) => {
  const write = (body: object, headers: Record<string, string> = {}) => service.call(method, path(), body, headers);

  it('keeps the first of two edits that are based on the same state', async () => {
    if (code === 'stale-line' && always) {
      const positions = ['shell', 'trim'].map((position) => ({ position, label: position }));
      await service.call('PUT', '/api/lines/FEN', { name: 'Fen', positions });
    }
    const [one, two] = list(edits);
    if (!always) {
      const made = await write(one, { 'if-none-match': '*' });
      expect(made.status).toBeLessThan(300);
    }
    const second = await write(two, { 'if-none-match': '*' });
    expect([second.status, second.body.code]).toEqual([412, code]);

    const tag = tagOf(await service.call('GET', path()));
    expect(tag).toMatch(/^"[^"]+"$/);
    const changed = await write(two, { 'if-match': tag });
    expect(changed.status).toBe(200);
    expect(tagOf(changed)).not.toBe(tag);
    const stale = await write(one, { 'if-match': tag });
    expect([stale.status, stale.body.code, `"${stale.body.expected}"`]).toEqual([412, code, tagOf(changed)]);
    expect(tagOf(await service.call('GET', path()))).toBe(tagOf(changed));
  });

  it('takes weak tags, lists of tags and *, and edits without a tag', async () => {
    const tag = tagOf(await write(list(edits)[1]));
    for (const ifMatch of [`W/${tag}`, `"other", ${tag}`, '*']) {
      expect((await write(list(edits)[1], { 'if-match': ifMatch })).status).toBe(200);
    }
    expect((await write(list(edits)[1], { 'if-none-match': tag })).body.code).toBe('invalid-field');
  });
});

describe.each(EDITED.filter(({ deletable }) => deletable))('$name', ({ path, method = 'PUT', edits, code }) => {
  const write = (body: object, headers: Record<string, string> = {}) => service.call(method, path(), body, headers);

  it('is deleted only in the stated state', async () => {
    const tag = tagOf(await write(list(edits)[0]));
    const changed = tagOf(await write(list(edits)[1]));
    const remove = (ifMatch: string) => service.call('DELETE', path(), undefined, { 'if-match': ifMatch });
    expect((await remove(tag)).body.code).toBe(code);
    expect((await remove(changed)).status).toBe(204);
    const gone = await write(list(edits)[0], { 'if-match': changed });
    expect([gone.status, gone.body.code]).toEqual([412, code]);
    expect((await write(list(edits)[0], { 'if-match': '*' })).status).toBe(412);
  });
});

it('a deleted product is unknown to every edit of it', async () => {
  await service.call('DELETE', '/api/products/GO');
  for (const { path, method = 'PUT', edits } of EDITED.filter(({ path }) => path().startsWith('/api/products/'))) {
    const { status, body } = await service.call(method, path(), list(edits)[0]);
    expect([path(), status, body.code]).toEqual([path(), 404, 'unknown-product']);
  }
});

it('the description of the service lists If-Match and If-None-Match at every edit', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  for (const { path, method = 'PUT' } of EDITED) {
    const template = path()
      .replace(/\/(products|lines|finishes|articles|picture-sets|budgets)\/[^/]+/, (_, kind: string) => `/${kind}/*`)
      .replace(/\/slots\/.*/, '/slots/*');
    const found = Object.entries(body.paths as Record<string, Record<string, { parameters: { name: string }[] }>>).find(
      ([each]) => each.replace(/\{[^}]+\}/g, '*') === template,
    );
    const names = found?.[1][method.toLowerCase()]?.parameters.map(({ name }) => name);
    expect(names, template).toEqual(expect.arrayContaining(['if-match', 'if-none-match']));
  }
});
