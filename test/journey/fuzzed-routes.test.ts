import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type FuzzOptions, fuzzRoutes } from '../support/fuzz-routes.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Hostile calls of every route. `npm run fuzz` makes more of them.

let service: TestService;
let options: Omit<FuzzOptions, 'seed' | 'count'>;
beforeAll(async () => {
  // pictures are not the matter here
  service = await startService({ DYEWORKS_BROWSER: '/nowhere' });
  await putLineOfFinishes(service);
  const slots = await addTwoPositions(service);
  options = makeOptions(slots);
});
afterAll(() => service.close());

function makeOptions([shell, trim]: readonly [string, string]): Omit<FuzzOptions, 'seed' | 'count'> {
  const finishes = Object.keys(FINISHES);
  const finish = {
    name: 'Fuzz',
    names: { de: 'Flaum', 'pt-BR': 'Penugem' },
    family: 'textile',
    article: 'CLOTH',
    reference: { system: 'S', code: '1' },
    colour: { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '2deg' },
    gloss: { gu60: 30 },
    sheen: { colour: '#ffffff', roughness: 0.5 },
    tile: { widthMm: 300, heightMm: 300, grainDegrees: 0 },
    companions: { shell: 'OAK-1', trim: 'COAL_4' },
    tags: ['warm'],
    status: 'current',
  };
  const spectrum = { startNm: 400, stepNm: 10, values: Array.from({ length: 31 }, () => 0.2) };
  const rules = [
    { when: { position: 'shell', finish: 'OAK-1' }, excludes: { position: 'trim', family: 'wood' } },
    { when: { position: 'shell' }, sameAs: { position: 'trim' } },
  ];
  const line = {
    name: 'Fenwater',
    positions: [
      { position: 'shell', label: 'Shell', options: { families: ['wood'], finishes: ['OAK-1'], tags: ['a'] } },
      { position: 'trim', label: 'Trim' },
    ],
    range: finishes.map((code) => ({ finish: code, grade: 'B', lastOrder: '2027-01-31' })),
    rules,
  };
  const limits = { recommended: 1000, maximum: 2000 };
  const decision = { decision: 'rejected', person: 'Ada', reason: 'Too dark', light: 'D65', shown: 'sample' };
  const schedule = {
    default: 'A',
    variants: [
      { code: 'A', name: 'One', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' }, gtin: '4006381333931' },
      { code: 'B', name: 'Two', choices: { [shell]: 'COAL_4', [trim]: 'ASH-2' } },
    ],
  };
  const repairs = [
    { repair: 'scale', factor: 0.5 },
    { repair: 'rename-materials', names: [{ from: 'a', to: 'b' }] },
    { repair: 'separate-pieces', material: 'a', groups: [{ name: 'b', pieces: ['0123456789ab'] }] },
    { repair: 'turn', axis: 'x', degrees: 90 },
  ];
  const set = {
    name: 'Set',
    views: ['front', `slot:${shell}`],
    sizes: [64],
    format: 'png',
    names: '{product}_{variant}',
  };
  return {
    known: {
      product: ['TOUCH', 'touch'],
      line: ['FEN'],
      finish: [...finishes, 'FUZZ'],
      article: ['CLOTH'],
      slot: [shell, trim],
      set: ['shop', 'own'],
      budget: ['web-catalogue', 'own'],
      variant: ['A', 'B'],
      revision: ['1'],
      delivery: ['1'],
      position: ['shell', 'trim'],
      code: ['A', 'B', ...finishes],
    },
    bodies: {
      'POST /api/products': [
        { code: 'NEW', name: 'New', line: 'FEN', class: 'stool', sheet: { widthMm: 1, depthMm: 1, heightMm: 1 } },
      ],
      'PATCH /api/products/{product}': [
        { name: 'Touch', line: 'FEN', mount: 'wall', budget: 'web-catalogue', sheet: null },
      ],
      'PATCH /api/products/{product}/slots/{slot}': [
        {
          label: 'Shell',
          position: 'shell',
          options: { finishes: ['OAK-1'] },
          keep: { normal: 'part', alpha: true },
          grainDegrees: 30,
        },
      ],
      'PUT /api/budgets/{budget}': [
        { label: 'Own', fileBytes: limits, triangles: limits, draws: limits, texturePx: 1024 },
      ],
      'POST /api/products/{product}/repairs': [{ repairs }],
      'PUT /api/products/{product}/preparation': [{ steps: repairs }],
      'PUT /api/products/{product}/schedule': [schedule],
      'POST /api/products/{product}/schedule/expand': [{ name: `{${shell}} / {${trim}}`, slots: [shell], limit: 100 }],
      'POST /api/products/{product}/schedule/rename': [{ name: `{${shell}}`, variants: ['A'], misnamed: false }],
      'POST /api/products/{product}/schedule/check-set': [{ kind: 'pairs', preview: true }],
      'PUT /api/lines/{line}': [line],
      'PUT /api/lines/{line}/rules': [{ rules }],
      'POST /api/lines/{line}/discontinue': [{ finish: 'ASH-2', replacedBy: 'OAK-1', preview: true }],
      'PUT /api/finishes/{finish}': [finish, { ...finish, article: undefined, colour: { spectrum } }],
      'PUT /api/articles/{article}': [
        { name: 'Cloth', family: 'textile', composition: 'wool', companions: { trim: 'COAL_4' } },
      ],
      'POST /api/finishes/{finish}/approvals': [decision],
      'POST /api/products/{product}/variants/{variant}/approvals': [decision],
      'PUT /api/picture-sets/{set}': [
        set,
        { ...set, views: undefined, swatches: ['chip'], ground: '#ffffff', ppi: 300, widthMm: 20, heightMm: 20 },
      ],
      'POST /api/products/{product}/pictures': [{ variants: ['A'], sizes: [64], formats: ['png'], views: ['front'] }],
    },
    skip: ['POST /api/people', 'DELETE /api/products/{product} ', 'DELETE /api/lines'],
  };
}

it.each([1, 2])('no call of any route is a fault of the program, seed %i', async (seed) => {
  const report = await fuzzRoutes(service, { ...options, seed, count: 5 });
  expect(report.faults).toEqual([]);
  expect(report.calls).toBeGreaterThan(450);
  // enough calls get past the checks of their shape
  const accepted = Object.entries(report.byStatus).filter(([status]) => Number(status) < 300);
  expect(accepted.reduce((sum, [, calls]) => sum + calls, 0)).toBeGreaterThan(report.calls / 8);
});

describe('keys outside the pattern', () => {
  const finish = { name: 'Keys', family: 'paint', colour: { hex: '#102030' } };
  it.each([
    ['names', { 'not a language': 'x' }],
    ['names', { de: 'x', 'x-y-z': 5 }],
    ['names', { constructor: 'x' }],
    ['companions', { Seat: 'OAK-1' }],
    ['companions', { seat: 'OAK-1', SEAT: { deep: [] } }],
    ['companions', { ['k'.repeat(65)]: 'OAK-1' }],
    ['companions', { seat: null }],
  ])('are refused in %s: %j', async (field, record) => {
    for (const path of ['/api/finishes/KEYS', '/api/articles/KEYS']) {
      const body = path.includes('articles') ? { name: 'Keys', family: 'paint' } : finish;
      const { status } = await service.call('PUT', path, { ...body, [field]: record });
      expect(status).toBe(400);
    }
    expect((await service.call('GET', '/api/finishes/KEYS')).status).toBe(404);
    expect((await service.call('GET', '/api/finishes/OAK-1/where-used')).status).toBe(200);
  });

  it('are limited in number', async () => {
    const names = Object.fromEntries(Array.from({ length: 301 }, (_, i) => [`de-${String(i).padStart(6, '0')}`, 'x']));
    expect((await service.call('PUT', '/api/finishes/KEYS', { ...finish, names })).status).toBe(400);
    const companions = Object.fromEntries(Array.from({ length: 201 }, (_, i) => [`p${i}`, 'OAK-1']));
    expect((await service.call('PUT', '/api/finishes/KEYS', { ...finish, companions })).status).toBe(400);
  });
});
