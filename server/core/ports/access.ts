import type { AuditEntry, AuditRecord } from '../access/audit.ts';
import type { ApiToken, NewPerson, Person, Session } from '../access/person.ts';
import type { LineGrant, Role } from '../access/role.ts';

/** Hashes passphrases so that a stolen database does not give them away. */
export interface Passphrases {
  /** A text with the hash and its parameters. Throws Problem `sign-in-busy` when too many wait. */
  hash(passphrase: string): Promise<string>;
  /**
   * Whether the passphrase belongs to the hash. On null it takes as long and returns false, so that the time does not
   * tell whether the account exists. Throws Problem `sign-in-busy`.
   */
  verify(hash: string | null, passphrase: string): Promise<boolean>;
}

/** What must be kept between the two halves of a sign-in with the house. */
export interface PendingSignIn {
  readonly state: string;
  readonly nonce: string;
  readonly verifier: string;
}

/** Who someone is by the sign-in of the house. */
export interface HouseIdentity {
  /** Issuer and subject: they name one person for ever. */
  readonly house: string;
  /** An address of mail that the house has verified; null without one. */
  readonly mail: string | null;
  readonly name: string | null;
}

/** The sign-in of the house: OpenID Connect, code flow with PKCE, state and nonce. */
export interface HouseSignIn {
  readonly name: string;
  /** The role of people whom no owner has added; null refuses them. */
  readonly role: Exclude<Role, 'owner'> | null;
  /** Throws Problem `house-unreachable`. */
  begin(redirectUri: string): Promise<PendingSignIn & { readonly url: string }>;
  /** Throws Problem `sign-in-refused` where the answer does not fit, `house-unreachable`. */
  finish(callback: URL, pending: PendingSignIn): Promise<HouseIdentity>;
}

/** A change of a person; fields that are absent stay as they are. */
export interface PersonChange {
  readonly name?: string;
  readonly role?: Role;
  readonly lines?: readonly LineGrant[];
  readonly disabled?: boolean;
}

/** A person with the hash of the passphrase, for the sign-in alone. */
export interface PersonWithHash {
  readonly person: Person;
  readonly hash: string | null;
}

/** The record of a call that may change something. */
export interface CallRecord {
  make(): AuditRecord;
  /** Whether it is stored. */
  written: boolean;
}

/** A new session; `digest` is the SHA-256 of its secret. */
export interface NewSession {
  readonly digest: string;
  readonly at: Date;
  readonly address: string;
  readonly browser: string;
}

/**
 * People, sessions, tokens and the audit. Accounts and names ignore case. Secrets arrive as digests. A method with a record
 * adds it to the audit in the transaction of its change, so neither exists without the other.
 */
export interface AccessStore {
  hasPeople(): Promise<boolean>;
  listPeople(): Promise<Person[]>;
  getPerson(account: string): Promise<PersonWithHash | null>;
  /** Whether someone has this name or account. */
  isPerson(name: string): Promise<boolean>;
  /** The person who is linked to an identity of the house. */
  findByHouse(house: string): Promise<Person | null>;
  /** Links a person who has no link yet. False when they have one. */
  linkHouse(account: string, house: string, record: AuditRecord): Promise<boolean>;
  /** Throws Problem `duplicate-person`, `unknown-line`, `last-owner` for a first person who is no owner. */
  addPerson(person: NewPerson, hash: string | null, record: AuditRecord): Promise<Person>;
  /**
   * Ends all sessions of the person where rights change. Throws Problem `unknown-person`, `duplicate-person`,
   * `unknown-line`, `last-owner`.
   */
  changePerson(account: string, change: PersonChange, record: AuditRecord): Promise<Person>;
  /** Sets the hash, and ends all sessions and links of the person. Throws Problem `unknown-person`. */
  setPassphrase(account: string, hash: string, record: AuditRecord): Promise<void>;

  /** Adds a session, and ends the oldest beyond the limit. `replaces` is the digest of a session that ends. */
  addSession(account: string, session: NewSession, replaces: string | null, record: AuditRecord): Promise<void>;
  /** The person of a session that has not ended, when the person is not disabled; notes its use. */
  useSession(digest: string, now: Date): Promise<{ readonly person: Person; readonly id: string } | null>;
  listSessions(account: string, now: Date): Promise<Session[]>;
  /** Ends one session by its id, or all. False when there is none. */
  endSessions(account: string, id: string | null, record: AuditRecord): Promise<boolean>;

  /** Throws Problem `too-many-tokens`. */
  addToken(account: string, token: Omit<ApiToken, 'usedAt'>, digest: string, record: AuditRecord): Promise<void>;
  /** The person and scope of a token that has not expired, when the person is not disabled; notes its use. */
  useToken(digest: string, now: Date): Promise<{ readonly person: Person; readonly token: ApiToken } | null>;
  listTokens(account: string): Promise<ApiToken[]>;
  revokeToken(account: string, token: string, record: AuditRecord): Promise<boolean>;

  /** Replaces the link of the person. Throws Problem `unknown-person`. */
  addReset(account: string, digest: string, expiresAt: string, record: AuditRecord): Promise<void>;
  /** The account of a link that has not expired; null otherwise. */
  findReset(digest: string, now: Date): Promise<string | null>;

  /**
   * Does the work of a call. Its first transaction that changes something of the trade also writes its record: neither is
   * stored without the other.
   */
  recordIn<T>(call: CallRecord, work: () => T): T;
  /** For a call that changes nothing of the trade, such as one that is refused. */
  addRecord(record: AuditRecord): Promise<void>;
  /** Entries after a number, oldest first. */
  listRecords(after: number, limit: number): Promise<AuditEntry[]>;
  /** Entries before a number, newest first; null begins with the newest. */
  listLatest(before: number | null, limit: number, account: string | null): Promise<AuditEntry[]>;
}
