import { canonical } from '../canonical.ts';
import type { Caller } from './caller.ts';

/** Where a call comes from. */
export interface Origin {
  /** `nobody`: a caller that proved nothing, such as someone who tries to sign in. */
  readonly by: Caller['by'] | 'command-line' | 'nobody';
  /** The proven account and name, or null. For the command line the name of the user of the machine. */
  readonly account: string | null;
  readonly name: string | null;
  /** The address of the caller, as the connection or a trusted proxy gives it; null for the command line. */
  readonly address: string | null;
}

/** Changes of people and of their access. Every other entry names a call, such as `PUT /api/lines/:line`. */
export const AUDIT_EVENTS = [
  'signed-in',
  'sign-in-refused',
  'signed-out',
  'sessions-ended',
  'passphrase-changed',
  'link-made',
  'link-used',
  'person-added',
  'person-changed',
  'token-made',
  'token-revoked',
  'house-linked',
] as const;
export type AuditEvent = (typeof AUDIT_EVENTS)[number];

/** Who did what, when and from where. It has no secrets and no contents, only codes and names. */
export interface AuditRecord extends Origin {
  /** ISO 8601. */
  readonly at: string;
  /** An event, or the method and route of a call. */
  readonly what: string;
  /** Codes and names that the call is about. */
  readonly about: Readonly<Record<string, string>>;
  /** HTTP status of a call that changed nothing; null for changes and events, which are recorded before there is an answer. */
  readonly status: number | null;
  /** Code of the refusal; null where none. */
  readonly refusal: string | null;
}

export interface AuditEntry extends AuditRecord {
  /** From 1, without gaps. */
  readonly entry: number;
  /** SHA-256 of the text of `textOfEntry`, lower-case hex. */
  readonly digest: string;
}

/** The digest before the first entry. */
export const FIRST_DIGEST = '0'.repeat(64);

/**
 * The text that the digest of an entry covers: its number, its content, and the digest of the entry before it. A changed,
 * removed or inserted entry breaks the chain from there on. Entries removed at the end leave a whole chain; so whoever needs
 * proof of that keeps the number and digest of the last entry elsewhere.
 */
export function textOfEntry(entry: number, record: AuditRecord, previous: string): string {
  const { by, account, name, address, at, what, about, status, refusal } = record;
  return canonical({ entry, previous, by, account, name, address, at, what, about, status, refusal });
}
