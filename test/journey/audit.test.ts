import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { cp, mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Database } from '../../db/open-database.ts';
import { ROOT } from '../../server/root.ts';
import { addPerson, readCookie, type SignedIn } from '../support/people.ts';
import { makeClient, startService, type TestService } from '../support/start-service.ts';

// The audit has who did what, when and from where. It can only grow, and no secret is in it.

const OAK = { name: 'Oak', family: 'wood', colour: { hex: '#b08d57' } };

let folder: string;
let service: TestService;
let owner: SignedIn;
let editor: SignedIn;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-audit-'));
  service = await startService({}, folder);
  owner = await addPerson(service, { account: 'olga', name: 'Olga', role: 'owner' });
  editor = await addPerson(service, { account: 'ed', name: '=1+1', role: 'editor' }, owner);
  await editor.call('PUT', '/api/finishes/OAK', OAK);
  await editor.call('DELETE', '/api/finishes/OAK');
  await editor.call('GET', '/api/finishes/OAK');
});
afterAll(async () => {
  await service.close();
  await rm(folder, { recursive: true, force: true });
});

interface Entry {
  readonly entry: number;
  readonly what: string;
}
const list = async (query = '') => (await owner.call('GET', `/api/audit${query}`)).body;

async function run(args: readonly string[], data = folder) {
  const env = { ...process.env, DYEWORKS_DATA: data };
  const child = spawn(process.execPath, ['server/dyeworks.mjs', ...args], { cwd: ROOT, env });
  let output = '';
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (text) => void (output += text));
  const [status] = await once(child, 'close');
  return { status, output };
}

describe('the audit', () => {
  it('has each change, each refusal by role and each sign-in, and no reading', async () => {
    const { entries } = await list();
    const texts = entries
      .reverse()
      .map((entry: Record<string, unknown>) => [entry.what, entry.account, entry.about, entry.refusal]);
    expect(texts).toEqual([
      ['person-added', null, { account: 'olga', lines: '', role: 'owner' }, null],
      ['link-made', null, { account: 'olga' }, null],
      ['link-used', 'olga', {}, null],
      ['signed-in', 'olga', {}, null],
      ['person-added', 'olga', { account: 'ed', lines: '', role: 'editor' }, null],
      ['link-made', 'olga', { account: 'ed' }, null],
      ['link-used', 'ed', {}, null],
      ['signed-in', 'ed', {}, null],
      ['PUT /api/finishes/:finish', 'ed', { finish: 'OAK' }, null],
      ['DELETE /api/finishes/:finish', 'ed', { finish: 'OAK' }, 'not-allowed'],
    ]);
    expect(entries[8]).toMatchObject({ by: 'session', address: '127.0.0.1', status: null, name: '=1+1' });
    expect(entries[9]).toMatchObject({ status: 403 });
  });

  it('is read page by page, and by person', async () => {
    const first = await list('?limit=4');
    const second = await list(`?limit=4&before=${first.next}`);
    const all = (await list()).entries;
    expect([...first.entries, ...second.entries]).toEqual(all.slice(0, 8));
    const own = (await list('?account=ED')).entries as Entry[];
    expect(own.map(({ what }) => what)).toContain('PUT /api/finishes/:finish');
    expect(own.every((entry) => (entry as unknown as { account: string }).account === 'ed')).toBe(true);
    expect((await editor.call('GET', '/api/audit')).body.code).toBe('not-allowed');
  });

  it('is exported as JSON lines, and as CSV without formulas', async () => {
    const lines = new TextDecoder()
      .decode((await owner.call('GET', '/api/audit.jsonl')).body)
      .trim()
      .split('\n');
    const { entries } = await list('?limit=500');
    expect(lines.map((line) => JSON.parse(line))).toEqual(entries.reverse());
    const csv = new TextDecoder().decode((await owner.call('GET', '/api/audit.csv')).body);
    expect(csv.split('\n')[0]).toBe('entry,at,by,account,name,address,what,about,status,refusal,digest');
    expect(csv).toContain(",'=1+1,");
    expect(csv).not.toMatch(/(^|,)"?[=+@-]/m);
  });

  it('cannot be changed in the database, and its check finds what was changed around the triggers', async () => {
    const whole = await run(['audit', 'verify']);
    expect([whole.status, whole.output]).toEqual([0, expect.stringContaining('The audit is whole')]);
    const copy = `${folder}-copy`;
    await cp(folder, copy, { recursive: true, filter: (path) => !path.endsWith('.lock') });
    try {
      const database = new Database(join(copy, 'dyeworks.sqlite'));
      expect(() => database.exec('DELETE FROM audit')).toThrow(/can only grow/);
      expect(() => database.exec("UPDATE audit SET record = '{}'")).toThrow(/can only grow/);
      database.exec('DROP TRIGGER audit_is_never_changed; DROP TRIGGER audit_is_never_deleted');
      const change = (sql: string) => {
        database.exec('SAVEPOINT before');
        database.exec(sql);
        database.exec('RELEASE before');
      };
      change("UPDATE audit SET record = replace(record, 'OAK', 'ELM') WHERE entry = 9");
      database.close();
      const broken = await run(['audit', 'verify'], copy);
      expect([broken.status, broken.output]).toEqual([1, expect.stringContaining('entry 9')]);
    } finally {
      await rm(copy, { recursive: true, force: true });
    }
  });

  it('has what a call changes in the transaction of the change: neither is stored without the other', async () => {
    const database = new Database(join(folder, 'dyeworks.sqlite'));
    const set = (sql: string) => database.exec(sql);
    const elm = { ...OAK, name: 'Elm' };
    try {
      const before = (await list()).entries[0];
      set("CREATE TRIGGER no_record BEFORE INSERT ON audit BEGIN SELECT RAISE(ABORT, 'no record'); END");
      expect((await editor.call('PUT', '/api/finishes/ELM', elm)).status).toBe(500);
      expect((await editor.call('POST', '/api/products', { code: 'P', name: 'Product' })).status).toBe(500);
      expect((await editor.call('PUT', '/api/lines/L', { name: 'Line' })).status).toBe(500);
      set('DROP TRIGGER no_record');
      for (const path of ['/api/finishes/ELM', '/api/products/P', '/api/lines/L']) {
        expect((await editor.call('GET', path)).status, path).toBe(404);
      }
      expect((await list()).entries[0]).toEqual(before);
      // one entry for a change, one for a call that changes nothing, and one for a refusal
      await editor.call('PUT', '/api/finishes/ELM', elm);
      await editor.call('PUT', '/api/finishes/ELM', elm);
      await editor.call('PUT', '/api/finishes/ELM', { ...elm, article: 'NONE' });
      const entries = (await list()).entries.slice(0, 3) as { status: number; refusal: string; entry: number }[];
      expect(entries.map(({ status }) => status)).toEqual([422, 200, null]);
      expect(entries.at(-1)!.entry).toBe(before.entry + 1);
    } finally {
      database.close();
    }
  });

  it('is not filled by strangers', async () => {
    const before = (await list()).entries[0].entry;
    for (let at = 0; at < 20; at++) await service.call('PUT', '/api/finishes/OAK', OAK);
    for (let at = 0; at < 30; at++) {
      await service.call('POST', '/api/sign-in', { account: 'ed', passphrase: `guess number ${at}` });
    }
    const { entries } = await list();
    expect(entries[0]).toMatchObject({
      what: 'sign-in-refused',
      by: 'nobody',
      account: null,
      about: { account: 'ed' },
    });
    expect(entries[0].entry - before).toBeLessThan(15);
  });
});

it('no secret is in the log, the audit or the database', async () => {
  const data = await mkdtemp(join(tmpdir(), 'dyeworks-secrets-'));
  const token = 'the-token-of-the-service';
  const env = {
    ...process.env,
    DYEWORKS_DATA: data,
    DYEWORKS_PORT: '0',
    DYEWORKS_DEMO: 'off',
    DYEWORKS_LOG: 'debug',
    DYEWORKS_TOKEN: token,
  };
  const child = spawn(process.execPath, ['server/dyeworks.mjs', 'serve'], { cwd: ROOT, env });
  let log = '';
  const url = await new Promise<string>((resolve) => {
    for (const stream of [child.stdout, child.stderr]) {
      stream.on('data', (text) => {
        log += text;
        const address = /Dyeworks is at (\S+)/.exec(log)?.[1];
        if (address) resolve(address.replace(/\/$/, ''));
      });
    }
  });
  try {
    const { call } = makeClient(url, token);
    const authorised = { authorization: `Bearer ${token}` };
    const person = { account: 'olga', name: 'Olga', role: 'owner' };
    const added = (await call('POST', '/api/people', person, authorised)).body;
    const first = 'quiet harbour at dawn';
    const second = 'the other harbour at noon';
    const wrong = 'a wrong harbour entirely';
    await call('POST', '/api/passphrase', { secret: added.link.secret, passphrase: first });
    await call('POST', '/api/sign-in', { account: 'olga', passphrase: wrong });
    // a passphrase in the field for the name
    await call('POST', '/api/sign-in', { account: first, passphrase: 'olga' });
    const one = readCookie((await call('POST', '/api/sign-in', { account: 'olga', passphrase: first })).headers);
    const change = { current: first, passphrase: second };
    const changed = await call('PUT', '/api/account/passphrase', change, { cookie: one });
    const two = readCookie(changed.headers);
    const made = await call('POST', '/api/account/tokens', { name: 'x', scope: 'owner' }, { cookie: two });
    await call('PUT', '/api/finishes/OAK', OAK, { authorization: `Bearer ${made.body.secret}` });
    await call('POST', '/api/session', { token: 'a-wrong-token-that-is-close' });
    // a body that cannot be read, or does not fit its schema
    await call('POST', '/api/sign-in', `{"account":"olga","passphrase":"${first}`, {
      'content-type': 'application/json',
    });
    await call('POST', '/api/sign-in', { account: 'olga', passphrase: 7, extra: first });
    expect((await call('GET', '/api/audit', undefined, authorised)).body.entries.length).toBeGreaterThan(6);

    const secrets = [token, first, second, wrong, added.link.secret, made.body.secret, 'a-wrong-token-that-is-close'];
    for (const cookie of [one, two]) secrets.push(cookie.split('=')[1]!);
    expect(log.split('\n').length).toBeGreaterThan(20);
    const stored = await Promise.all(
      (await readdir(data, { recursive: true, withFileTypes: true }))
        .filter((entry) => entry.isFile())
        .map(({ parentPath, name }) => readFile(join(parentPath, name), 'latin1')),
    );
    expect(stored.join('').length).toBeGreaterThan(10_000);
    for (const secret of secrets) {
      expect(log, secret).not.toContain(secret);
      expect(
        stored.some((content) => content.includes(secret)),
        secret,
      ).toBe(false);
    }
  } finally {
    child.kill('SIGTERM');
    await once(child, 'close');
    await rm(data, { recursive: true, force: true });
  }
});
