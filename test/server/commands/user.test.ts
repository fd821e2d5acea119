import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { RESULT_TEXTS } from '../../../server/commands/texts.ts';
import { ROOT } from '../../../server/root.ts';
import { signIn } from '../../support/people.ts';
import { HAS_TERMINAL, runInTerminal } from '../../support/run-in-terminal.ts';
import { startService, type TestService } from '../../support/start-service.ts';

// Whoever can write the data folder can add people and recover access, also while the service runs.

let folder: string;
let service: TestService;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-user-'));
  service = await startService({}, folder);
});
afterAll(async () => {
  await service.close();
  await rm(folder, { recursive: true, force: true });
});

async function run(args: readonly string[], input = '') {
  const child = spawn(process.execPath, ['server/dyeworks.mjs', 'user', ...args], {
    cwd: ROOT,
    env: { ...process.env, DYEWORKS_DATA: folder },
  });
  let output = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (text) => {
      output += text;
    });
  child.stdin.end(input);
  const [status] = await once(child, 'close');
  return { status, output };
}

const FIRST = 'quiet harbour at dawn';
const SECOND = 'the other harbour at noon';

it('adds the first owner, and the running service asks for a sign-in at once', async () => {
  expect((await service.call('GET', '/api/products')).status).toBe(200);
  const viewer = await run(['add', 'vi', '--role', 'viewer'], `${FIRST}\n`);
  expect([viewer.status, viewer.output]).toEqual([2, expect.stringMatching(/^last-owner/)]);
  const added = await run(['add', 'olga', '--role', 'owner', '--name', 'Olga Berg'], `${FIRST}\n`);
  expect([added.status, added.output]).toEqual([0, expect.stringContaining('olga can sign in')]);
  expect(added.output).not.toContain(FIRST);
  expect((await service.call('GET', '/api/products')).status).toBe(401);
  const owner = await signIn(service, 'olga', FIRST);
  expect((await owner.call('GET', '/api/session')).body.caller).toMatchObject({ name: 'Olga Berg', role: 'owner' });
});

it('sets a new passphrase, enables the account and ends its sessions', async () => {
  const before = await signIn(service, 'olga', FIRST);
  expect((await run(['reset', 'olga'], 'short\n')).output).toMatch(/^weak-passphrase/);
  expect((await before.call('GET', '/api/products')).status).toBe(200);
  expect((await run(['reset', 'Olga'], `${SECOND}\n`)).status).toBe(0);
  expect((await before.call('GET', '/api/products')).status).toBe(401);
  const after = await signIn(service, 'olga', SECOND);
  expect((await after.call('GET', '/api/people')).status).toBe(200);
});

it('lists people, and says what a wrong call lacks', async () => {
  expect((await run(['list'])).output).toBe('olga  owner  Olga Berg\n');
  for (const [args, input, text] of [
    [['add', 'x'], '', 'The passphrase is missing'],
    [['add'], '', 'a sign-in name'],
    [['remove', 'x'], '', 'user add, reset or list'],
    [['add', 'x', '--role', 'king'], `${FIRST}\n`, '--role takes'],
    [['reset', 'unknown'], `${FIRST}\n`, 'unknown-person'],
  ] as const) {
    const { status, output } = await run(args, input);
    expect([status, output]).toEqual([2, expect.stringContaining(text)]);
  }
});

describe.runIf(HAS_TERMINAL)('in a terminal', () => {
  const type = (account: string, keys: string) =>
    runInTerminal(
      [process.execPath, 'server/dyeworks.mjs', 'user', 'add', account, '--role', 'viewer'],
      { ...process.env, DYEWORKS_DATA: folder },
      { after: RESULT_TEXTS.askPassphrase, keys },
    );

  it('asks for the passphrase, and shows nothing of it', async () => {
    const { status, shown } = await type('vi', `${SECOND.slice(0, 5)}\x7f${SECOND.slice(4)}\r`);
    expect([status, shown]).toEqual([0, expect.stringContaining('vi can sign in')]);
    for (const word of SECOND.split(' ').filter(({ length }) => length > 3)) expect(shown).not.toContain(word);
    const person = await signIn(service, 'vi', SECOND);
    expect((await person.call('GET', '/api/products')).status).toBe(200);
  });

  it.each([
    ['Control-C', 'quiet harb\x03', 130],
    ['Control-D', '\x04', 2],
  ])('ends with %s, and adds nobody', async (_, keys, status) => {
    const ended = await type('wim', keys);
    expect(ended.status).toBe(status);
    expect((await run(['list'])).output).not.toContain('wim');
  });
});
