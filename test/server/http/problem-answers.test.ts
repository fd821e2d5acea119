import { readdirSync, readFileSync } from 'node:fs';
import Fastify from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { PROBLEMS, Problem, type ProblemCode, type ProblemKind } from '../../../server/core/problems.ts';
import { answerError } from '../../../server/http/problem-answers.ts';

// RFC 9457 §3.1: type, title, status and detail, in application/problem+json; `code`, `expected` and `received` are the
// contract's own members. Statuses: RFC 9110 §15, 507 in RFC 4918 §11.5, 429 in RFC 6585 §4, and 412, 409, 503 with Retry-After as the contract names them.
const STATUS: Record<ProblemKind, number> = {
  invalid: 400,
  unauthorised: 401,
  forbidden: 403,
  missing: 404,
  gone: 410,
  conflict: 409,
  stale: 412,
  'too-large': 413,
  'too-slow': 408,
  'media-type': 415,
  unprocessable: 422,
  'too-many': 429,
  busy: 503,
  'no-space': 507,
  unavailable: 503,
  failed: 500,
};

const CODES = Object.keys(PROBLEMS) as ProblemCode[];
const app = Fastify();
app.setErrorHandler(answerError);
app.get<{ Params: { code: ProblemCode } }>('/problem/:code', ({ params }) => {
  throw new Problem(params.code, {
    detail: 'A sentence that says what to do.',
    expected: ['one thing'],
    received: 'another',
    where: '/somewhere',
    cause: new Error('a secret of the inside'),
  });
});
app.get('/fault', () => {
  throw new Error('a secret of the inside');
});
beforeAll(async () => {
  await app.ready();
});
afterAll(() => app.close());

describe('the catalogue of problems', () => {
  it.each(CODES)('%s', async (code) => {
    expect(code).toMatch(/^[a-z0-9]+(-[a-z0-9]+)*$/);
    const answer = await app.inject(`/problem/${code}`);
    const status = STATUS[PROBLEMS[code].kind];
    expect(answer.statusCode).toBe(status);
    expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect(answer.json()).toEqual({
      type: expect.stringContaining(code),
      title: PROBLEMS[code].title,
      status,
      code,
      detail: 'A sentence that says what to do.',
      expected: ['one thing'],
      received: 'another',
      where: '/somewhere',
    });
    expect(() => new URL(answer.json().type)).not.toThrow();
    expect(answer.body).not.toContain('secret');
    if (PROBLEMS[code].kind === 'busy') expect(Number(answer.headers['retry-after'])).toBeGreaterThan(0);
    if (status === 401) expect(answer.headers['www-authenticate']).toMatch(/^Bearer/);
  });

  it('has titles that differ and say something', () => {
    const titles = CODES.map((code) => PROBLEMS[code].title);
    expect(new Set(titles).size).toBe(titles.length);
    for (const title of titles) expect(title).toMatch(/^[A-Z].{8,}[^.]$/);
  });

  it('tells nothing of a fault of its own', async () => {
    const answer = await app.inject('/fault');
    expect(answer.statusCode).toBe(500);
    expect(answer.json()).toMatchObject({ status: 500, code: 'internal', title: PROBLEMS.internal.title });
    expect(answer.body).not.toContain('secret');
  });

  it('has no code that nothing raises', () => {
    const root = new URL('../../../', import.meta.url);
    const sources = ['server', 'db', 'renderer']
      .flatMap((room) =>
        readdirSync(new URL(`${room}/`, root), { recursive: true, encoding: 'utf8' })
          .filter((path) => /\.m?tsx?$/.test(path) && !path.endsWith('core/problems.ts'))
          .map((path) => readFileSync(new URL(`${room}/${path}`, root), 'utf8')),
      )
      // words in comments raise nothing
      .map((source) => source.replace(/\/\*[\s\S]*?\*\//g, ''));
    expect(CODES.filter((code) => !sources.some((source) => source.includes(`'${code}'`)))).toEqual([]);
  });
});
