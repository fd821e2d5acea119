import type { Kysely, Selectable } from 'kysely';
import type { Person } from '../../server/core/access/person.ts';
import type { LineGrant, LineRole, Role } from '../../server/core/access/role.ts';
import { foldCode } from '../../server/core/codes.ts';
import { Problem } from '../../server/core/problems.ts';
import { ACCESS_PROBLEMS } from '../../server/core/texts/problems/access.ts';
import type { Tables } from '../tables.ts';

type PersonRow = Selectable<Tables['people']>;

export async function readPerson(db: Kysely<Tables>, row: PersonRow): Promise<Person> {
  const lines = await db
    .selectFrom('person_lines')
    .innerJoin('lines', 'lines.line_key', 'person_lines.line_key')
    .select(['lines.line', 'person_lines.role'])
    .where('account_key', '=', row.account_key)
    .orderBy('lines.line')
    .execute();
  return {
    account: row.account,
    name: row.name,
    role: row.role as Role,
    lines: lines.map(({ line, role }) => ({ line, role: role as LineRole })),
    disabled: row.disabled !== 0,
    createdAt: row.created_at,
    hasPassphrase: row.passphrase !== null,
    hasHouse: row.house !== null,
  };
}

export function findPerson(db: Kysely<Tables>, account: string): Promise<PersonRow | undefined> {
  return db.selectFrom('people').selectAll().where('account_key', '=', foldCode(account)).executeTakeFirst();
}

/** @throws Problem `unknown-person` */
export async function requirePerson(db: Kysely<Tables>, account: string): Promise<PersonRow> {
  const row = await findPerson(db, account);
  if (row) return row;
  throw new Problem('unknown-person', {
    detail: ACCESS_PROBLEMS['unknown-person'](account.slice(0, 100)),
    received: account.slice(0, 100),
  });
}

/** The form of a name in which two are the same: as people read it. */
export const foldName = (name: string): string => name.normalize('NFKC').toLowerCase();

/**
 * Requires that no other account has the name, nor the name as its account: a name in a history proves one person.
 * @throws Problem `duplicate-person`
 */
export async function requireFreeName(tx: Kysely<Tables>, account: string, name: string): Promise<void> {
  const name_key = foldName(name);
  const other = await tx
    .selectFrom('people')
    .select('account')
    .where((is) => is.or([is('name_key', '=', name_key), is('account_key', '=', name_key)]))
    .where('account_key', '!=', foldCode(account))
    .executeTakeFirst();
  if (!other) return;
  throw new Problem('duplicate-person', {
    detail: ACCESS_PROBLEMS['duplicate-person'].name(name),
    received: name,
    where: '/name',
  });
}

/** @throws Problem `unknown-line`, `invalid-field` for a line that occurs twice */
export async function writeLines(tx: Kysely<Tables>, account_key: string, lines: readonly LineGrant[]): Promise<void> {
  await tx.deleteFrom('person_lines').where('account_key', '=', account_key).execute();
  const seen = new Set<string>();
  for (const { line, role } of lines) {
    const line_key = foldCode(line);
    if (seen.has(line_key)) {
      throw new Problem('invalid-field', {
        detail: ACCESS_PROBLEMS['invalid-field'].lineTwice(line),
        received: line,
        where: '/lines',
      });
    }
    seen.add(line_key);
    const known = await tx.selectFrom('lines').select('line').where('line_key', '=', line_key).executeTakeFirst();
    if (!known) {
      throw new Problem('unknown-line', {
        detail: ACCESS_PROBLEMS['unknown-line'](line),
        received: line,
        where: '/lines',
      });
    }
    await tx.insertInto('person_lines').values({ account_key, line_key, role }).execute();
  }
}

/** Requires an owner who is not disabled. @throws Problem `last-owner` */
export async function requireOwner(tx: Kysely<Tables>, reason: 'change' | 'first'): Promise<void> {
  const owner = await tx
    .selectFrom('people')
    .select('account')
    .where('role', '=', 'owner')
    .where('disabled', '=', 0)
    .executeTakeFirst();
  if (!owner) throw new Problem('last-owner', { detail: ACCESS_PROBLEMS['last-owner'][reason] });
}

export async function deleteSessions(tx: Kysely<Tables>, account_key: string): Promise<void> {
  await tx.deleteFrom('sessions').where('account_key', '=', account_key).execute();
}
