import type { Kysely, Selectable } from 'kysely';
import {
  type ApiToken,
  CLOCK_STEP_MS,
  MAX_SESSIONS,
  MAX_TOKENS,
  SESSION_IDLE_MS,
  SESSION_MS,
  USE_STEP_MS,
} from '../../server/core/access/person.ts';
import type { Role } from '../../server/core/access/role.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { AccessStore } from '../../server/core/ports/access.ts';
import { Problem } from '../../server/core/problems.ts';
import { ignoreStorageFault } from '../../server/core/storage-faults.ts';
import { ACCESS_PROBLEMS } from '../../server/core/texts/problems/access.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { writeRecord } from '../write-record.ts';
import { deleteSessions, readPerson, requirePerson } from './person-rows.ts';

type CredentialStore = Pick<
  AccessStore,
  'addSession' | 'useSession' | 'listSessions' | 'endSessions' | 'addToken' | 'useToken' | 'listTokens' | 'revokeToken'
>;

/** Characters of a session's digest that name it in lists. They open nothing. */
const ID_LENGTH = 16;

/** Sessions of browsers and tokens of programs, each under the digest of its secret. */
export function createCredentialStore(db: Kysely<Tables>): CredentialStore {
  return {
    async addSession(account, { digest, at, address, browser }, replaces, record) {
      await atomically(db, async (tx) => {
        const { account_key } = await requirePerson(tx, account);
        const now = at.toISOString();
        if (replaces !== null) await tx.deleteFrom('sessions').where('digest', '=', replaces).execute();
        const latest = new Date(at.getTime() + CLOCK_STEP_MS).toISOString();
        await tx
          .deleteFrom('sessions')
          .where((eb) => eb.or([eb('expires_at', '<=', now), eb('used_at', '>', latest)]))
          .execute();
        const expires_at = new Date(at.getTime() + SESSION_MS).toISOString();
        await tx
          .insertInto('sessions')
          .values({ digest, account_key, created_at: now, used_at: now, expires_at, address, browser })
          .execute();
        const kept = tx
          .selectFrom('sessions')
          .select('digest')
          .where('account_key', '=', account_key)
          .orderBy('used_at', 'desc')
          .orderBy('created_at', 'desc')
          .limit(MAX_SESSIONS);
        await tx
          .deleteFrom('sessions')
          .where('account_key', '=', account_key)
          .where('digest', '!=', digest)
          .where('digest', 'not in', kept)
          .execute();
        await writeRecord(tx, record);
      });
    },

    async useSession(digest, now) {
      const row = await db
        .selectFrom('sessions')
        .innerJoin('people', 'people.account_key', 'sessions.account_key')
        .selectAll('people')
        .select(['used_at', 'expires_at'])
        .where('digest', '=', digest)
        .where('disabled', '=', 0)
        .executeTakeFirst();
      if (!row) return null;
      if (!isOpen(row, now)) {
        // gone for good: a clock that is set back must not open it again
        await db.deleteFrom('sessions').where('digest', '=', digest).execute().catch(ignoreStorageFault);
        return null;
      }
      if (isStale(row.used_at, now)) {
        const used = db.updateTable('sessions').set({ used_at: now.toISOString() }).where('digest', '=', digest);
        // a full disk keeps nobody out
        await used.execute().catch(ignoreStorageFault);
      }
      return { person: await readPerson(db, row), id: digest.slice(0, ID_LENGTH) };
    },

    async listSessions(account, now) {
      const rows = await db
        .selectFrom('sessions')
        .selectAll()
        .where('account_key', '=', foldCode(account))
        .orderBy('used_at', 'desc')
        .execute();
      return rows
        .filter((row) => isOpen(row, now))
        .map((row) => ({
          id: row.digest.slice(0, ID_LENGTH),
          createdAt: row.created_at,
          usedAt: row.used_at,
          expiresAt: row.expires_at,
          address: row.address,
          browser: row.browser,
        }));
    },

    endSessions(account, id, record) {
      return atomically(db, async (tx) => {
        const { account_key } = await requirePerson(tx, account);
        if (id === null) await deleteSessions(tx, account_key);
        else {
          const gone = await tx
            .deleteFrom('sessions')
            .where('account_key', '=', account_key)
            .where((is) => is(is.fn('substr', ['digest', is.val(1), is.val(ID_LENGTH)]), '=', id))
            .executeTakeFirst();
          if (gone.numDeletedRows === 0n) return false;
        }
        await writeRecord(tx, record);
        return true;
      });
    },

    async addToken(account, { token, name, scope, createdAt, expiresAt }, digest, record) {
      await atomically(db, async (tx) => {
        const { account_key } = await requirePerson(tx, account);
        await tx
          .deleteFrom('api_tokens')
          .where('account_key', '=', account_key)
          .where('expires_at', '<=', createdAt)
          .execute();
        const { held } = await tx
          .selectFrom('api_tokens')
          .select((eb) => eb.fn.countAll<number>().as('held'))
          .where('account_key', '=', account_key)
          .executeTakeFirstOrThrow();
        if (held >= MAX_TOKENS) {
          throw new Problem('too-many-tokens', {
            detail: ACCESS_PROBLEMS['too-many-tokens'](MAX_TOKENS),
            expected: MAX_TOKENS,
          });
        }
        const values = { token, digest, account_key, name, scope, created_at: createdAt, expires_at: expiresAt };
        await tx.insertInto('api_tokens').values(values).execute();
        await writeRecord(tx, record);
      });
    },

    async useToken(digest, now) {
      const row = await db
        .selectFrom('api_tokens')
        .innerJoin('people', 'people.account_key', 'api_tokens.account_key')
        .selectAll('people')
        .select([
          'token',
          'scope',
          'expires_at',
          'used_at',
          'api_tokens.created_at as made_at',
          'api_tokens.name as token_name',
        ])
        .where('digest', '=', digest)
        .where('expires_at', '>', now.toISOString())
        .where('disabled', '=', 0)
        .executeTakeFirst();
      if (!row) return null;
      if (row.used_at === null || isStale(row.used_at, now)) {
        await db.updateTable('api_tokens').set({ used_at: now.toISOString() }).where('digest', '=', digest).execute();
      }
      const token = readToken({ ...row, name: row.token_name, created_at: row.made_at });
      return { person: await readPerson(db, row), token };
    },

    async listTokens(account) {
      const rows = await db
        .selectFrom('api_tokens')
        .selectAll()
        .where('account_key', '=', foldCode(account))
        .orderBy('created_at', 'desc')
        .execute();
      return rows.map(readToken);
    },

    revokeToken(account, token, record) {
      return atomically(db, async (tx) => {
        const gone = await tx
          .deleteFrom('api_tokens')
          .where('account_key', '=', foldCode(account))
          .where('token', '=', token)
          .executeTakeFirst();
        if (gone.numDeletedRows === 0n) return false;
        await writeRecord(tx, record);
        return true;
      });
    },
  };
}

/**
 * A session that was used later than now is over: the clock was set back, and nobody knows how long it has been idle since
 * then.
 */
function isOpen({ used_at, expires_at }: { used_at: string; expires_at: string }, now: Date): boolean {
  const [at, usedAt] = [now.getTime(), Date.parse(used_at)];
  return at < Date.parse(expires_at) && at < usedAt + SESSION_IDLE_MS && usedAt <= at + CLOCK_STEP_MS;
}

const isStale = (usedAt: string, now: Date) => Math.abs(now.getTime() - Date.parse(usedAt)) >= USE_STEP_MS;

function readToken(row: Omit<Selectable<Tables['api_tokens']>, 'digest' | 'account_key'>): ApiToken {
  const { token, name, scope, created_at, expires_at, used_at } = row;
  return { token, name, scope: scope as Role, createdAt: created_at, expiresAt: expires_at, usedAt: used_at };
}
