import type { Kysely } from 'kysely';
import { CLOCK_STEP_MS, RESET_MS } from '../../server/core/access/person.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { AccessStore } from '../../server/core/ports/access.ts';
import { Problem } from '../../server/core/problems.ts';
import { ACCESS_PROBLEMS } from '../../server/core/texts/problems/access.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { writeRecord } from '../write-record.ts';
import {
  deleteSessions,
  findPerson,
  foldName,
  readPerson,
  requireFreeName,
  requireOwner,
  requirePerson,
  writeLines,
} from './person-rows.ts';

type PeopleStore = Pick<
  AccessStore,
  | 'hasPeople'
  | 'listPeople'
  | 'getPerson'
  | 'isPerson'
  | 'findByHouse'
  | 'linkHouse'
  | 'addPerson'
  | 'changePerson'
  | 'setPassphrase'
  | 'addReset'
  | 'findReset'
>;

export function createPeopleStore(db: Kysely<Tables>): PeopleStore {
  // people are never deleted, so the answer stays yes
  let has = false;
  return {
    async hasPeople() {
      has ||= (await db.selectFrom('people').select('account_key').limit(1).executeTakeFirst()) !== undefined;
      return has;
    },

    async listPeople() {
      const rows = await db.selectFrom('people').selectAll().orderBy('name_key').execute();
      return Promise.all(rows.map((row) => readPerson(db, row)));
    },

    async getPerson(account) {
      const row = await findPerson(db, account);
      return row ? { person: await readPerson(db, row), hash: row.passphrase } : null;
    },

    async isPerson(name) {
      const name_key = foldName(name);
      const row = await db
        .selectFrom('people')
        .select('account')
        .where((is) => is.or([is('name_key', '=', name_key), is('account_key', '=', name_key)]))
        .executeTakeFirst();
      return row !== undefined;
    },

    async findByHouse(house) {
      const row = await db.selectFrom('people').selectAll().where('house', '=', house).executeTakeFirst();
      return row ? readPerson(db, row) : null;
    },

    linkHouse(account, house, record) {
      return atomically(db, async (tx) => {
        const { account_key, house: linked } = await requirePerson(tx, account);
        if (linked !== null) return false;
        await tx.updateTable('people').set({ house }).where('account_key', '=', account_key).execute();
        await writeRecord(tx, record);
        return true;
      });
    },

    addPerson(person, hash, record) {
      return atomically(db, async (tx) => {
        const { account, name, role, lines } = person;
        const account_key = foldCode(account);
        if (await findPerson(tx, account)) {
          throw new Problem('duplicate-person', {
            detail: ACCESS_PROBLEMS['duplicate-person'].account(account),
            received: account,
            where: '/account',
          });
        }
        await requireFreeName(tx, account, account);
        await requireFreeName(tx, account, name);
        const values = { account_key, account, name, name_key: foldName(name), role, passphrase: hash };
        await tx
          .insertInto('people')
          .values({ ...values, created_at: record.at })
          .execute();
        await writeLines(tx, account_key, lines);
        await requireOwner(tx, 'first');
        await writeRecord(tx, record);
        return readPerson(tx, await requirePerson(tx, account));
      });
    },

    changePerson(account, change, record) {
      return atomically(db, async (tx) => {
        const { account_key } = await requirePerson(tx, account);
        const { name, role, lines, disabled } = change;
        if (name !== undefined) {
          await requireFreeName(tx, account, name);
          await tx
            .updateTable('people')
            .set({ name, name_key: foldName(name) })
            .where('account_key', '=', account_key)
            .execute();
        }
        if (role !== undefined) {
          await tx.updateTable('people').set({ role }).where('account_key', '=', account_key).execute();
        }
        if (disabled !== undefined) {
          const set = { disabled: disabled ? 1 : 0 };
          await tx.updateTable('people').set(set).where('account_key', '=', account_key).execute();
        }
        if (lines !== undefined) await writeLines(tx, account_key, lines);
        // the next sign-in gets a new session, which an attacker with the old one does not have
        if (role !== undefined || lines !== undefined || disabled) await deleteSessions(tx, account_key);
        await requireOwner(tx, 'change');
        await writeRecord(tx, record);
        return readPerson(tx, await requirePerson(tx, account));
      });
    },

    async setPassphrase(account, hash, record) {
      await atomically(db, async (tx) => {
        const { account_key } = await requirePerson(tx, account);
        await tx.updateTable('people').set({ passphrase: hash }).where('account_key', '=', account_key).execute();
        await deleteSessions(tx, account_key);
        await tx.deleteFrom('resets').where('account_key', '=', account_key).execute();
        await writeRecord(tx, record);
      });
    },

    async addReset(account, digest, expiresAt, record) {
      await atomically(db, async (tx) => {
        const { account_key } = await requirePerson(tx, account);
        const set = { digest, expires_at: expiresAt };
        await tx
          .insertInto('resets')
          .values({ account_key, ...set })
          .onConflict((on) => on.column('account_key').doUpdateSet(set))
          .execute();
        await writeRecord(tx, record);
      });
    },

    async findReset(digest, now) {
      const row = await db
        .selectFrom('resets')
        .innerJoin('people', 'people.account_key', 'resets.account_key')
        .select('people.account')
        .where('resets.digest', '=', digest)
        .where('resets.expires_at', '>', now.toISOString())
        // after the clock was set back, a link is not valid for longer
        .where('resets.expires_at', '<=', new Date(now.getTime() + RESET_MS + CLOCK_STEP_MS).toISOString())
        .where('people.disabled', '=', 0)
        .executeTakeFirst();
      return row?.account ?? null;
    },
  };
}
