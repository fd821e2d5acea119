import { userInfo } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { createAccessStore } from '../../db/create-access-store.ts';
import { openDatabase } from '../../db/open-database.ts';
import { createPassphrases } from '../access/create-passphrases.ts';
import { type Access, GuessBook, recordOf } from '../actions/access.ts';
import { addPerson, changePerson } from '../actions/people.ts';
import { steadyNow } from '../actions/steady-now.ts';
import { ConfigError, readConfig } from '../config.ts';
import type { Origin } from '../core/access/audit.ts';
import { checkPassphrase } from '../core/access/passphrase.ts';
import { ROLES } from '../core/access/role.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { readArguments, readChoice } from './arguments.ts';
import { CALL_TEXTS, INPUTS, RESULT_TEXTS } from './texts.ts';

type Env = Readonly<Record<string, string | undefined>>;
type Options = Partial<Record<'role' | 'name', string | boolean>>;
type Command = (access: Access, account: string, options: Options, origin: Origin) => Promise<string>;

const COMMANDS: Readonly<Record<'add' | 'reset', Command>> = {
  async add(access, account, options, origin) {
    const role = readChoice('role', options.role, ROLES) ?? 'viewer';
    const name = String(options.name ?? account);
    const person = await addPerson(access, { account, name, role, lines: [] }, await readPassphrase(), origin);
    return RESULT_TEXTS.userAdded(person.account, person.role);
  },

  async reset(access, account, options, origin) {
    const known = await access.store.getPerson(account);
    if (!known) throw new Problem('unknown-person', { detail: ACCESS_PROBLEMS['unknown-person'](account) });
    const role = readChoice('role', options.role, ROLES);
    const { person } = known;
    const passphrase = checkPassphrase(await readPassphrase(), [person.account, person.name]);
    const hash = await access.passphrases.hash(passphrase);
    const about = { account: person.account };
    await access.store.setPassphrase(person.account, hash, recordOf(access, origin, 'passphrase-changed', about));
    const changed = await changePerson(access, account, { disabled: false, ...(role && { role }) }, origin);
    return RESULT_TEXTS.userReset(changed.account, changed.role);
  },
};

/**
 * `dyeworks user add|reset NAME`, `dyeworks user list`: people of a data folder, also while the service runs, which reads them
 * at every call. So whoever can write the folder can recover access.
 */
export async function userCommand(args: readonly string[], env: Env): Promise<number> {
  const [action, ...rest] = args;
  if (action !== 'add' && action !== 'reset' && action !== 'list') throw new ConfigError(CALL_TEXTS.wrongUserCommand);
  const options = { role: { type: 'string' }, name: { type: 'string' } } as const;
  const { files, options: given } = readArguments(rest, action === 'list' ? [] : [INPUTS.account], options);
  const db = await openDatabase(join(readConfig(env).dataFolder, 'dyeworks.sqlite'));
  try {
    const access: Access = {
      store: createAccessStore(db),
      passphrases: createPassphrases(),
      guesses: new GuessBook(steadyNow),
      now: () => new Date(),
    };
    if (action === 'list') {
      for (const { account, name, role, disabled } of await access.store.listPeople()) {
        console.log(RESULT_TEXTS.user(account, name, role, disabled));
      }
      return 0;
    }
    const origin: Origin = { by: 'command-line', account: null, name: nameOfUser(), address: null };
    console.log(await COMMANDS[action](access, files[0]!, given, origin));
    return 0;
  } finally {
    await db.destroy();
  }
}

/** The user of the machine, for the audit; null where the system has no name for it, as in some containers. */
function nameOfUser(): string | null {
  try {
    return userInfo().username;
  } catch {
    return null;
  }
}

/** Reads the first line of the input. A terminal does not show it, and neither do lists of processes or the history of the shell. */
async function readPassphrase(): Promise<string> {
  const { stdin, stderr } = process;
  const lines = createInterface({ input: stdin, terminal: stdin.isTTY });
  // the reader leaves this key to us, since it takes every key of a terminal
  lines.once('SIGINT', () => process.kill(process.pid, 'SIGINT'));
  try {
    // the terminal shows nothing from here on
    if (stdin.isTTY) stderr.write(RESULT_TEXTS.askPassphrase);
    for await (const line of lines) return line;
    throw new ConfigError(CALL_TEXTS.missingPassphrase);
  } finally {
    lines.close();
    if (stdin.isTTY) stderr.write('\n');
  }
}
