import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startService, type TestService } from '../support/start-service.ts';

let service: TestService;
const put = (code: string, finish: object) =>
  service.call('PUT', `/api/finishes/${code}`, { family: 'paint', ...finish }).then(({ status }) => status);

beforeAll(async () => {
  service = await startService();
  expect(
    await put('P-1', { name: 'Fern', colour: { hex: '#4a7a4a' }, tags: ['warm'], supplier: 'Oak & Daughters' }),
  ).toBe(201);
  expect(await put('P-2', { name: 'Fern again', colour: { hex: '#4a7a4b' } })).toBe(201);
  expect(await put('P-3', { name: 'Poppy', names: { de: 'Klatschmohn, glänzend' }, colour: { hex: '#c03028' } })).toBe(
    201,
  );
  expect(await put('C-1', { name: 'Fern bouclé', family: 'textile', colour: { hex: '#4a7a4a' } })).toBe(201);
});
afterAll(() => service.close());

describe('the library', () => {
  const find = async (query: string) => {
    const { body } = await service.call('GET', `/api/finishes?${query}`);
    return body.finishes.map(({ finish }: { finish: string }) => finish);
  };

  it('finds text in every language, ignoring case and accents, and filters by supplier, family and tag', async () => {
    expect(await find('q=BOUCLE')).toEqual(['C-1']);
    expect(await find('q=glanzend')).toEqual(['P-3']);
    expect(await find('q=daughters%20fern')).toEqual(['P-1']);
    expect(await find('family=textile')).toEqual(['C-1']);
    expect(await find('tag=warm')).toEqual(['P-1']);
    expect(await find('q=nothing')).toEqual([]);
  });

  it('lists the finishes nearest to a colour, each with its ΔE00', async () => {
    const { body } = await service.call('GET', '/api/finishes?near=%234a7a4a&family=paint&limit=2');
    expect(body.finishes.map(({ finish }: { finish: string }) => finish)).toEqual(['P-1', 'P-2']);
    expect(body.finishes[0].deltaE).toBe(0);
    expect(body.finishes[1].deltaE).toBeGreaterThan(0);
    expect(body.finishes[1].deltaE).toBeLessThan(1);
    expect((await service.call('GET', '/api/finishes?near=green')).status).toBe(400);
  });

  it('lists near-identical pairs, without other materials of the same colour', async () => {
    const { body } = await service.call('GET', '/api/finishes/indistinguishable?deltaE=1');
    expect(body.pairs.map(({ finishes }: { finishes: string[] }) => finishes)).toEqual([['P-1', 'P-2']]);
  });

  it('stores decisions on a finish, which lapse when it changes', async () => {
    const path = '/api/finishes/p-3/approvals';
    const decide = (decision: object) =>
      service.call('POST', path, { person: 'Ada', light: 'D65', shown: 'sample', ...decision });
    expect((await service.call('GET', path)).body).toMatchObject({ state: 'none', approvals: [] });
    expect((await decide({ decision: 'submitted' })).status).toBe(201);
    expect((await decide({ decision: 'rejected' })).body).toMatchObject({ code: 'reason-needed' });
    expect((await decide({ decision: 'rejected', reason: 'Too blue under A', light: 'A' })).body).toMatchObject({
      state: 'rejected',
      round: 1,
    });
    await decide({ decision: 'submitted' });
    expect((await decide({ decision: 'approved' })).body).toMatchObject({ state: 'approved', round: 2 });
    expect(await put('P-3', { name: 'Poppy', colour: { hex: '#c13028' } })).toBe(200);
    const { body } = await service.call('GET', path);
    expect(body).toMatchObject({ state: 'lapsed', round: 2 });
    expect(body.approvals).toHaveLength(4);
    expect(body.caution).toContain('physical sample');
    expect((await service.call('GET', '/api/finishes/none/approvals')).status).toBe(404);
  });

  it('keeps a decision valid through a new name, and again once a change is undone', async () => {
    const path = '/api/finishes/P-2/approvals';
    const before = (await service.call('GET', '/api/finishes/P-2')).body;
    const given = { name: before.name, family: before.family, colour: before.colour };
    await service.call('POST', path, { decision: 'approved', person: 'Ada', light: 'D65', shown: 'sample' });
    const state = async () => (await service.call('GET', path)).body.state;
    expect(await put('P-2', { ...given, name: 'Another name', note: 'Ask the mill', tags: ['warm'] })).toBe(200);
    expect(await state()).toBe('approved');
    expect(await put('P-2', { ...given, roughness: 0.11 })).toBe(200);
    expect((await service.call('GET', path)).body.lapsedBecause).toBe('The finish P-2 has changed.');
    expect(await put('P-2', given)).toBe(200);
    expect(await state()).toBe('approved');
  });

  it('gives another finish under a reused code no approval of the first', async () => {
    expect(await put('P-9', { name: 'Gone', colour: { hex: '#101010' } })).toBe(201);
    const path = '/api/finishes/P-9/approvals';
    await service.call('POST', path, { decision: 'approved', person: 'Ada', light: 'D65', shown: 'sample' });
    expect((await service.call('DELETE', '/api/finishes/P-9')).status).toBe(204);
    // not even with the same look
    expect(await put('p-9', { name: 'Gone', colour: { hex: '#101010' } })).toBe(201);
    expect((await service.call('GET', path)).body).toMatchObject({ state: 'none', approvals: [] });
  });
});
