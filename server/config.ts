import { isIP } from 'node:net';
import { resolve } from 'node:path';

/** Parts of the service that can be read without the token. */
export type PublicPart = 'deliveries' | 'pictures';

export interface Config {
  readonly host: string;
  readonly port: number;
  readonly token: string | null;
  readonly publicParts: ReadonlySet<PublicPart>;
  /** Other host names of the service, such as a proxy's; lower case. */
  readonly hostNames: ReadonlySet<string>;
  /** What stands before each path of the service in absolute addresses, without a slash at its end; null: as each caller asks. */
  readonly address: string | null;
  /** Folder for the database and files. */
  readonly dataFolder: string;
  readonly demo: boolean;
  readonly browserPath: string | null;
  /** Whether the browser runs in its sandbox. Null: always, except as root in a container, where a sandbox cannot run. */
  readonly sandbox: boolean | null;
  /** Largest request body, in bytes. */
  readonly bodyLimitBytes: number;
  /** Largest request body of editors and approvers, in bytes. */
  readonly editorLimitBytes: number;
  /** Calls of one caller in a minute; 0 is no limit. */
  readonly callsPerMinute: number;
  /** Addresses and networks of proxies whose `X-Forwarded-…` headers count. */
  readonly trustedProxies: readonly string[];
  /** The sign-in of the house; null without one. */
  readonly house: HouseConfig | null;
  /** Time without a byte of a request after which its connection is closed. */
  readonly idleMs: number;
  /** Stored pictures, in bytes. Beyond this the store evicts the least recently used. */
  readonly pictureLimitBytes: number;
  /** How long a stored file stays that nothing refers to, in days. */
  readonly unusedDays: number;
  /** Memory for decoded layers of pictures, in bytes. */
  readonly layerMemoryBytes: number;
  /** Threads that read models; null: by cores and memory. */
  readonly modelThreads: number | null;
  /** Memory of one model's objects, MiB; null: by the memory of the machine. */
  readonly modelMemoryMib: number | null;
  /** Longest time for one step with a model, s. */
  readonly modelSeconds: number;
  readonly logLevel: 'silent' | 'error' | 'warn' | 'info' | 'debug';
}

/** OpenID Connect. */
export interface HouseConfig {
  readonly issuer: URL;
  readonly clientId: string;
  /** Null for a public client. */
  readonly clientSecret: string | null;
  /** On the button of the sign-in. */
  readonly name: string;
  readonly role: 'viewer' | 'editor' | 'approver' | null;
}

const MIB = 1024 * 1024;
const LOOPBACK = new Set(['127.0.0.1', '::1', 'localhost']);

/** A wrong setting or a wrong call. The message says which, and what is expected. */
export class ConfigError extends Error {
  override readonly name = 'ConfigError';
}

/**
 * Reads the configuration from a plain record, such as the environment. Pure.
 * @throws ConfigError
 */
export function readConfig(env: Readonly<Record<string, string | undefined>>): Config {
  const host = env.DYEWORKS_HOST?.trim() || '127.0.0.1';
  const token = env.DYEWORKS_TOKEN?.trim() || null;
  if (!LOOPBACK.has(host) && token === null) {
    throw new ConfigError(
      `DYEWORKS_HOST is ${host}, which other machines can reach, but DYEWORKS_TOKEN is not set. Anyone could change the products. Set DYEWORKS_TOKEN, or use 127.0.0.1.`,
    );
  }
  if (token !== null && token.length < 12) {
    throw new ConfigError('DYEWORKS_TOKEN is shorter than 12 characters. Use a longer one, such as 32 random letters.');
  }
  return Object.freeze({
    host,
    port: readNumber(env, 'DYEWORKS_PORT', 4460, 0, 65535),
    token,
    publicParts: readPublic(env.DYEWORKS_PUBLIC),
    hostNames: new Set(
      (env.DYEWORKS_HOST_NAMES ?? '')
        .toLowerCase()
        .split(/[\s,]+/)
        .filter(Boolean),
    ),
    address: readAddress(env.DYEWORKS_ADDRESS),
    dataFolder: resolve(env.DYEWORKS_DATA?.trim() || '.dyeworks'),
    demo: readChoice(env, 'DYEWORKS_DEMO', ['on', 'off'], 'on') === 'on',
    browserPath: env.DYEWORKS_BROWSER?.trim() || null,
    sandbox: { on: true, off: false, auto: null }[readChoice(env, 'DYEWORKS_SANDBOX', ['auto', 'on', 'off'], 'auto')],
    idleMs: readNumber(env, 'DYEWORKS_IDLE_S', 30, 1, 3600) * 1000,
    editorLimitBytes: readNumber(env, 'DYEWORKS_EDITOR_LIMIT_MIB', 256, 1, 4096) * MIB,
    callsPerMinute: readNumber(env, 'DYEWORKS_CALLS_PER_MINUTE', 6000, 0, 1_000_000),
    house: readHouse(env),
    trustedProxies: readAddresses(env.DYEWORKS_TRUST_PROXY),
    bodyLimitBytes: readNumber(env, 'DYEWORKS_BODY_LIMIT_MIB', 512, 1, 4096) * MIB,
    pictureLimitBytes: readNumber(env, 'DYEWORKS_PICTURE_LIMIT_MIB', 2048, 16, 1024 * 1024) * MIB,
    unusedDays: readNumber(env, 'DYEWORKS_UNUSED_DAYS', 7, 1, 3650),
    layerMemoryBytes: readNumber(env, 'DYEWORKS_LAYER_MEMORY_MIB', 256, 1, 64 * 1024) * MIB,
    modelThreads: readOptional(env, 'DYEWORKS_MODEL_THREADS', 1, 64),
    modelMemoryMib: readOptional(env, 'DYEWORKS_MODEL_MEMORY_MIB', 128, 64 * 1024),
    modelSeconds: readNumber(env, 'DYEWORKS_MODEL_S', 120, 1, 3600),
    logLevel: readChoice(env, 'DYEWORKS_LOG', ['silent', 'error', 'warn', 'info', 'debug'], 'warn'),
  });
}

function readPublic(value: string | undefined): Set<PublicPart> {
  const parts = (value ?? 'none').split(/[\s,+]+/).filter(Boolean);
  const known = new Set<PublicPart>();
  for (const part of parts) {
    if (part === 'both') known.add('deliveries').add('pictures');
    else if (part === 'deliveries' || part === 'pictures') known.add(part);
    else if (part !== 'none') {
      throw new ConfigError(
        `DYEWORKS_PUBLIC is “${value}”. Set it to none, deliveries, pictures, or deliveries,pictures.`,
      );
    }
  }
  return known;
}

function readAddress(value: string | undefined): string | null {
  const text = value?.trim();
  if (!text) return null;
  const url = URL.canParse(text) ? new URL(text) : null;
  const isBare = url && url.username === '' && url.password === '' && url.search === '' && url.hash === '';
  if (isBare && (url.protocol === 'https:' || url.protocol === 'http:')) return url.href.replace(/\/+$/, '');
  throw new ConfigError(
    `DYEWORKS_ADDRESS is “${text}”. Set it to the address at which others reach the service, such as https://finishes.example.`,
  );
}

function readHouse(env: Env): HouseConfig | null {
  const text = env.DYEWORKS_OIDC_ISSUER?.trim();
  if (!text) return null;
  const issuer = URL.canParse(text) ? new URL(text) : null;
  // without TLS anyone between the two could sign in as anyone
  if (!issuer || (issuer.protocol !== 'https:' && !(issuer.protocol === 'http:' && LOOPBACK.has(issuer.hostname)))) {
    throw new ConfigError(`DYEWORKS_OIDC_ISSUER is “${text}”. Set it to the https address of the issuer.`);
  }
  const clientId = env.DYEWORKS_OIDC_CLIENT?.trim();
  if (!clientId)
    throw new ConfigError('DYEWORKS_OIDC_CLIENT is missing. Set it to the client id that the issuer gave.');
  const role = readChoice(env, 'DYEWORKS_OIDC_ROLE', ['none', 'viewer', 'editor', 'approver'], 'none');
  return {
    issuer,
    clientId,
    clientSecret: env.DYEWORKS_OIDC_SECRET?.trim() || null,
    name: env.DYEWORKS_OIDC_NAME?.trim() || issuer.hostname,
    role: role === 'none' ? null : role,
  };
}

/** Whoever is trusted can state any address and protocol, so names, words such as “true” and whole internets are refused. */
function readAddresses(value: string | undefined): readonly string[] {
  const addresses = (value ?? '').split(/[\s,]+/).filter(Boolean);
  for (const each of addresses) {
    const [address = '', bits, more] = each.split('/');
    const family = isIP(address);
    const widest = family === 4 ? 32 : 128;
    const isNetwork = bits === undefined || (/^\d{1,3}$/.test(bits) && Number(bits) >= 8 && Number(bits) <= widest);
    if (family !== 0 && isNetwork && more === undefined) continue;
    throw new ConfigError(
      `DYEWORKS_TRUST_PROXY has “${each}”. Set it to the addresses of your proxies, such as 127.0.0.1 or 10.0.0.0/8, with commas.`,
    );
  }
  return addresses;
}

type Env = Readonly<Record<string, string | undefined>>;

function readNumber(env: Env, name: string, fallback: number, min: number, max: number): number {
  const text = env[name]?.trim();
  if (!text) return fallback;
  const number = Number(text);
  if (!Number.isInteger(number) || number < min || number > max) {
    throw new ConfigError(`${name} is “${text}”. Set it to a whole number from ${min} to ${max}.`);
  }
  return number;
}

/** A number, or null when it is not set or “auto”. */
function readOptional(env: Env, name: string, min: number, max: number): number | null {
  const text = env[name]?.trim();
  return !text || text === 'auto' ? null : readNumber(env, name, min, min, max);
}

function readChoice<T extends string>(env: Env, name: string, choices: readonly T[], fallback: T): T {
  const text = env[name]?.trim();
  if (!text) return fallback;
  if (!choices.includes(text as T))
    throw new ConfigError(`${name} is “${text}”. Set it to one of: ${choices.join(', ')}.`);
  return text as T;
}
