import type { Kysely } from 'kysely';
import type { AccessStore } from '../server/core/ports/access.ts';
import { createAuditStore } from './stores/audit-store.ts';
import { createCredentialStore } from './stores/credential-store.ts';
import { createPeopleStore } from './stores/people-store.ts';
import type { Tables } from './tables.ts';

export function createAccessStore(db: Kysely<Tables>): AccessStore {
  return { ...createPeopleStore(db), ...createCredentialStore(db), ...createAuditStore(db) };
}
