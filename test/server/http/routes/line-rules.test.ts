import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addTwoPositions, putLineOfFinishes } from '../../../support/job.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

// The contract: rules, count, where-used and discontinue over HTTP, on a line of two positions.
// Model: registry package @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let shell: string;
let trim: string;
const base = '/api/products/TOUCH';

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [shell, trim] = await addTwoPositions(service);
});
afterAll(() => service.close());

const RULES = [
  { when: { position: 'shell', finish: 'coal_4' }, excludes: { position: 'trim', family: 'wood' } },
  { when: { position: 'trim', family: 'powder-coat' }, sameAs: { position: 'shell' } },
];

describe('the rules of a line', () => {
  it('are none at first, and are stored whole, with their words', async () => {
    expect((await service.call('GET', '/api/lines/FEN/rules')).body).toEqual({ rules: [], words: [] });
    // two finishes on the shell by five on the trim
    expect((await service.call('GET', `${base}/schedule/count`)).body).toEqual({ count: 10, exact: true });
    const put = await service.call('PUT', '/api/lines/FEN/rules', { rules: RULES });
    expect(put.status).toBe(200);
    expect(put.body.rules[0].when.finish).toBe('COAL_4');
    expect(put.body.words).toEqual([
      '“Shell” in COAL_4 never goes with “Trim” in any wood',
      'where “Trim” is in any powder coat, “Shell” has the same finish as “Trim”',
    ]);
    expect((await service.call('GET', '/api/lines/FEN/rules')).body).toEqual(put.body);
    expect((await service.call('GET', '/api/lines/FEN')).body.rules).toEqual(put.body.rules);
  });

  it('stay when the line is stored without naming them, and hold its positions', async () => {
    const kept = await service.call('PUT', '/api/lines/FEN', { name: 'Fenwater' });
    expect(kept.body.rules).toHaveLength(2);
    const gone = await service.call('PUT', '/api/lines/FEN', { name: 'Fenwater', positions: [] });
    expect([gone.status, gone.body.code]).toEqual([422, 'unknown-position']);
  });

  it.each([
    [
      'two things',
      { when: RULES[0]!.when, excludes: { position: 'trim', tag: 'x' }, sameAs: { position: 'trim' } },
      400,
      'invalid-rule',
    ],
    ['one position twice', { when: { position: 'trim' }, sameAs: { position: 'trim' } }, 400, 'invalid-rule'],
    ['no such position', { when: { position: 'arm' }, sameAs: { position: 'trim' } }, 422, 'unknown-position'],
    [
      'no such finish',
      { when: { position: 'trim', finish: 'TEAK' }, sameAs: { position: 'shell' } },
      422,
      'unknown-finish',
    ],
    [
      'an unknown field',
      { when: { position: 'trim', colour: 'x' }, sameAs: { position: 'shell' } },
      400,
      'unknown-field',
    ],
  ])('are refused with %s, and those there are stay', async (_, rule, status, code) => {
    const refused = await service.call('PUT', '/api/lines/FEN/rules', { rules: [rule] });
    expect([refused.status, refused.body.code]).toEqual([status, code]);
    expect((await service.call('GET', '/api/lines/FEN/rules')).body.rules).toHaveLength(2);
  });

  it('are missing with their line', async () => {
    expect((await service.call('GET', '/api/lines/NONE/rules')).body.code).toBe('unknown-line-code');
    expect((await service.call('PUT', '/api/lines/NONE/rules', { rules: [] })).status).toBe(404);
  });

  it('take a last order date that is a day, and a successor that is stored', async () => {
    const put = (entry: object) => service.call('PUT', '/api/lines/DAYS', { name: 'Days', range: [entry] });
    const entry = { finish: 'OAK-1', status: 'phase-out', lastOrder: '2032-02-29', replacedBy: 'ash-2' };
    expect((await put(entry)).body.range).toEqual([{ ...entry, replacedBy: 'ASH-2' }]);
    for (const lastOrder of ['2031-02-29', '29.2.2032', 'soon']) {
      expect((await put({ ...entry, lastOrder })).body).toMatchObject({ code: 'invalid-field', received: lastOrder });
    }
    expect((await put({ ...entry, replacedBy: 'TEAK' })).body.code).toBe('unknown-finish');
    expect((await put({ ...entry, replacedBy: 'oak-1' })).body.code).toBe('invalid-field');
    expect((await service.call('DELETE', '/api/lines/DAYS')).status).toBe(204);
  });
});

describe('a schedule under rules', () => {
  it('is counted and expanded alike', async () => {
    // TARN.3: two woods, brass, itself; COAL_4: brass, itself
    expect((await service.call('GET', `${base}/schedule/count`)).body).toEqual({ count: 6, exact: true });
    const { status, body } = await service.call('POST', `${base}/schedule/expand`, {});
    expect([status, body.added]).toEqual([200, 6]);
    expect(body.findings.filter(({ code }: { code: string }) => code === 'rule-broken')).toEqual([]);
  });

  it('says what the rules do, on request', async () => {
    const { body } = await service.call('GET', `${base}/schedule/count?explain=1`);
    expect(body).toEqual({
      count: 6,
      exact: true,
      effects: { unruled: 10, binding: [0, 1], breaking: 0, none: null, impossible: [], more: 0 },
    });
    expect((await service.call('GET', `${base}/schedule/count?explain=yes`)).status).toBe(400);
  });

  it('refuses with the reason where the rules leave no combination', async () => {
    const shut = { when: { position: 'shell' }, requires: { position: 'trim', tag: 'nothing has it' } };
    expect((await service.call('PUT', '/api/lines/FEN/rules', { rules: [...RULES, shut] })).status).toBe(200);
    const { body: counted } = await service.call('GET', `${base}/schedule/count?explain=1`);
    expect(counted).toMatchObject({ count: 0, effects: { binding: [0, 1, 2], breaking: 6, impossible: [] } });
    expect(counted.effects.none).toMatch(/^No finish is left for /);
    const expanded = await service.call('POST', `${base}/schedule/expand`, {});
    expect([expanded.status, expanded.body.code]).toEqual([422, 'nothing-to-expand']);
    expect(expanded.body.detail).toContain(counted.effects.none);
    const set = await service.call('POST', `${base}/schedule/check-set`, {});
    expect([set.status, set.body.code]).toEqual([422, 'nothing-to-expand']);
    expect(set.body.detail).toContain(counted.effects.none);
    // naming a finish for the trim would not help
    const picture = () => service.call('GET', `${base}/picture.png?choice=${shell}:COAL_4&size=64`);
    const none = await picture();
    expect(none.body.code).toBe('choice-forbidden');
    expect(none.body.detail).toContain(`${counted.effects.none} Change a rule`);
    const coal = { ...shut, when: { position: 'shell', finish: 'COAL_4' } };
    expect((await service.call('PUT', '/api/lines/FEN/rules', { rules: [...RULES, coal] })).status).toBe(200);
    expect((await picture()).body.detail).toMatch(/excludes all 5 of its finishes\. Choose another finish\.$/);
    expect((await service.call('PUT', '/api/lines/FEN/rules', { rules: RULES })).status).toBe(200);
  });

  it('may be stored though it breaks a rule, and then blocks the delivery with words', async () => {
    const variants = [
      { code: 'GOOD', name: 'Tarn with oak', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } },
      { code: 'BAD', name: 'Coal with ash', choices: { [shell]: 'COAL_4', [trim]: 'ASH-2' } },
    ];
    const put = await service.call('PUT', `${base}/schedule`, { default: 'GOOD', variants });
    expect(put.status).toBe(200);
    const broken = put.body.findings.filter(({ code }: { code: string }) => code === 'rule-broken');
    expect(broken).toHaveLength(1);
    expect(broken[0].message).toContain('variant BAD has both');
    const refused = await service.call('POST', `${base}/deliveries`, {});
    expect([refused.status, refused.body.code]).toEqual([409, 'delivery-blocked']);
    expect(JSON.stringify(refused.body.findings)).toContain('rule-broken');
  });

  it('gives no picture of a combination that a rule forbids, and says which', async () => {
    const refused = await service.call(
      'GET',
      `${base}/picture.png?choice=${shell}:COAL_4&choice=${trim}:ASH-2&size=64`,
    );
    expect([refused.status, refused.body.code]).toEqual([409, 'choice-forbidden']);
    expect(refused.body.detail).toContain('never goes with');
    // the default has oak on the trim
    const unnamed = await service.call('GET', `${base}/picture.png?choice=${shell}:COAL_4&size=64`);
    expect(unnamed.body).toMatchObject({ code: 'choice-forbidden', received: { [trim]: 'OAK-1' } });
    expect(unnamed.body.detail).toContain('You did not choose a finish for');
  });
});

describe('a finish that goes', () => {
  const VARIANTS = () => [
    { code: 'ONE', name: 'Oiled oak on tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } },
    { code: 'TWO', name: 'All coal', choices: { [shell]: 'COAL_4', [trim]: 'COAL_4' } },
    { code: 'THREE', name: 'Tarn and brass', choices: { [shell]: 'TARN.3', [trim]: 'brass-5' } },
  ];
  const preview = { finish: 'OAK-1', replacedBy: 'ash-2', preview: true };

  it('is found in ranges, schedules, deliveries and rules', async () => {
    const put = await service.call('PUT', `${base}/schedule`, { default: 'ONE', variants: VARIANTS() });
    expect(put.status).toBe(200);
    const delivered = await service.call('POST', `${base}/deliveries`, {});
    expect(delivered.status).toBe(201);
    const { body } = await service.call('GET', '/api/finishes/oak-1/where-used');
    expect(body).toEqual({
      finish: 'OAK-1',
      lines: [{ line: 'FEN', name: 'Fenwater', status: 'current', positions: [], rules: [], replaces: [] }],
      schedules: [{ product: 'TOUCH', variants: 1 }],
      deliveries: [{ product: 'TOUCH', delivery: delivered.body.delivery }],
      companionOf: [],
    });
    const coal = await service.call('GET', '/api/finishes/COAL_4/where-used');
    expect(coal.body.lines[0].rules).toHaveLength(1);
    expect((await service.call('GET', '/api/finishes/TEAK/where-used')).status).toBe(404);
  });

  it('says in a preview what would be done, and does nothing', async () => {
    const before = await service.call('GET', `${base}/schedule`);
    const { status, body } = await service.call('POST', '/api/lines/FEN/discontinue', preview);
    expect(status).toBe(200);
    expect(body).toMatchObject({
      preview: true,
      finish: 'OAK-1',
      replacedBy: 'ASH-2',
      range: { to: { finish: 'OAK-1', status: 'discontinued', replacedBy: 'ASH-2' } },
      products: [
        {
          product: 'TOUCH',
          withdrawn: [],
          reminted: [{ from: 'ONE', to: 'ONE-2', name: 'Pale ash on tarn' }],
          default: { from: 'ONE', to: 'ONE-2' },
          variants: 3,
        },
      ],
      deliveriesDue: [{ product: 'TOUCH', delivery: 1 }],
      picturesDue: [{ product: 'TOUCH', variants: ['ONE-2'] }],
    });
    const after = await service.call('GET', `${base}/schedule`);
    expect(after.headers.get('etag')).toBe(before.headers.get('etag'));
    expect((await service.call('GET', '/api/lines/FEN')).body.range[0].status).toBe('current');
  });

  it('goes: new codes, the default moved, the range changed', async () => {
    const done = await service.call('POST', '/api/lines/FEN/discontinue', { ...preview, preview: false });
    expect(done.body).toMatchObject({ preview: false, products: [{ reminted: [{ to: 'ONE-2' }] }] });
    const { body } = await service.call('GET', `${base}/schedule`);
    expect(body.default).toBe('ONE-2');
    expect(body.variants.map(({ code }: { code: string }) => code)).toEqual(['ONE-2', 'TWO', 'THREE']);
    expect(body.variants[0].choices).toEqual({ [shell]: 'TARN.3', [trim]: 'ASH-2' });
    const { body: line } = await service.call('GET', '/api/lines/FEN');
    expect(line.range[0]).toMatchObject({ finish: 'OAK-1', status: 'discontinued', replacedBy: 'ASH-2' });
    expect(line.rules).toHaveLength(2);
  });

  it('goes without a replacement, and never takes the last variant', async () => {
    const gone = await service.call('POST', '/api/lines/FEN/discontinue', { finish: 'brass-5' });
    expect(gone.body.products).toMatchObject([
      { withdrawn: [{ code: 'THREE', reason: 'no-replacement' }], default: null },
    ]);
    await service.call('POST', '/api/lines/FEN/discontinue', { finish: 'COAL_4' });
    const last = await service.call('POST', '/api/lines/FEN/discontinue', { finish: 'TARN.3' });
    expect([last.status, last.body.code]).toEqual([409, 'no-variant-left']);
    expect((await service.call('POST', '/api/lines/FEN/discontinue', { finish: 'TEAK' })).body.code).toBe(
      'not-in-range',
    );
    expect((await service.call('POST', '/api/lines/NONE/discontinue', { finish: 'TEAK' })).status).toBe(404);
    expect((await service.call('POST', '/api/lines/FEN/discontinue', { finish: 'TARN.3', force: true })).status).toBe(
      400,
    );
  });
});
