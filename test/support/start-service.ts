import { existsSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { findNewest } from '../../server/built-parts.mjs';
import { type Config, readConfig } from '../../server/config.ts';
import { createService } from '../../server/main.ts';
import { openEngines } from '../../server/open-context.ts';
import { BUILT, ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { type ApiDocument, type CheckAnswer, type GivenAnswer, makeAnswerCheck } from './check-answer.ts';
import { lendEngines } from './engines.ts';
import { once } from './once.ts';

/** A real service on a free port of the loopback, with its own data folder. */
export interface TestService {
  readonly url: string;
  readonly dataFolder: string;
  /** Settles once the demo is stored. */
  readonly filled: Promise<void>;
  /**
   * Sends JSON (objects) or bytes, and reads a JSON answer if there is one. Every answer is checked against the schema
   * of its route, so that each journey also tests the contract.
   */
  call(method: string, path: string, body?: unknown, headers?: Record<string, string>): Promise<Answer>;
  /**
   * For answers that a test reads in another way. @throws Error if the schema of the route does not allow the answer
   */
  checkAnswer(answer: GivenAnswer): Promise<void>;
  close(): Promise<void>;
}

export interface Answer {
  readonly status: number;
  readonly headers: Headers;
  // biome-ignore lint/suspicious/noExplicitAny: tests read answers of every shape
  readonly body: any;
}

/** The document is the same for every service. */
let check: CheckAnswer | undefined;

async function loadCheck(url: string, token: string | null): Promise<CheckAnswer> {
  const headers = token === null ? undefined : { authorization: `Bearer ${token}` };
  const answer = await fetch(`${url}/api/openapi.json`, { headers });
  return makeAnswerCheck((await answer.json()) as ApiDocument);
}

interface ServiceOptions {
  /** `own`: threads and browser of the service's own, as outside of tests; default: those that the worker's tests share. */
  readonly engines?: 'own' | 'shared';
}

/** @param dataFolder one to keep; absent, the service has one that goes when it closes */
export async function startService(
  env: Record<string, string> = {},
  dataFolder?: string,
  { engines = 'shared' }: ServiceOptions = {},
): Promise<TestService> {
  const folder = dataFolder ?? (await mkdtemp(join(tmpdir(), 'dyeworks-test-')));
  if (env.DYEWORKS_DEMO === 'on' && !existsSync(join(folder, DATABASE))) {
    await cp(await provideDemoFolder(), folder, { recursive: true });
  }
  const config = readTestConfig(folder, env);
  const service = await createService(config, engines === 'own' ? openEngines(config) : lendEngines());
  const url = await service.listen();
  return {
    ...makeClient(url, config.token),
    dataFolder: folder,
    filled: service.filled,
    async close() {
      await service.close();
      if (dataFolder === undefined) await rm(folder, { recursive: true, force: true });
    },
  };
}

const DATABASE = 'dyeworks.sqlite';

/**
 * A data folder with the demo. Filling it in takes half a minute of computing. So it is done once for all workers and
 * runs, in `.build`, until a source changes.
 */
const provideDemoFolder = once(async () => {
  const sources = ['server', 'db', 'renderer', 'package-lock.json'].map((path) => join(ROOT, path));
  const folder = join(BUILT, `test-demo-${Math.round(findNewest(sources))}`);
  if (existsSync(folder)) return folder;
  const own = `${folder}-${process.pid}`;
  for (const old of readdirSync(BUILT)) {
    if (/^test-demo-\d+/.test(old) && !old.startsWith(basename(folder))) {
      rmSync(join(BUILT, old), { recursive: true, force: true });
    }
  }
  // with its own threads, so that a benchmark can end by itself
  const service = await createService(readTestConfig(own, { DYEWORKS_DEMO: 'on' }));
  await service.listen();
  await service.filled;
  await service.close();
  try {
    renameSync(own, folder);
  } catch {
    // the other worker was faster
    rmSync(own, { recursive: true, force: true });
  }
  return folder;
});

function readTestConfig(folder: string, env: Record<string, string>): Config {
  return readConfig({
    DYEWORKS_PORT: '0',
    DYEWORKS_DEMO: 'off',
    DYEWORKS_LOG: 'silent',
    DYEWORKS_BROWSER: process.env.DYEWORKS_BROWSER,
    DYEWORKS_SANDBOX: NO_SANDBOX ? 'off' : 'auto',
    DYEWORKS_DATA: folder,
    ...env,
  });
}

/** Calls of a running service. @param token the token it was started with */
export function makeClient(
  url: string,
  token: string | null = null,
): Pick<TestService, 'url' | 'call' | 'checkAnswer'> {
  const checkAnswer = async (answer: GivenAnswer) => {
    check ??= await loadCheck(url, token);
    const wrong = check(answer);
    if (wrong) throw new Error(wrong);
  };
  return {
    url,
    checkAnswer,
    call: async (method, path, body, headers) => {
      const { answer, given } = await call(url, method, path, body, headers);
      await checkAnswer(given);
      return answer;
    },
  };
}

async function call(
  url: string,
  method: string,
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<{ readonly answer: Answer; readonly given: GivenAnswer }> {
  const raw = body instanceof Uint8Array || typeof body === 'string' || body === undefined;
  const response = await fetch(url + path, {
    method,
    body: raw ? (body as BodyInit | undefined) : JSON.stringify(body),
    headers: raw ? headers : { 'content-type': 'application/json', ...headers },
  });
  const bytes = new Uint8Array(await response.arrayBuffer());
  const mediaType = (response.headers.get('content-type') ?? '').split(';')[0]!.trim();
  const json = /json$/.test(mediaType) && bytes.length > 0 ? JSON.parse(new TextDecoder().decode(bytes)) : null;
  const { status } = response;
  return {
    answer: { status, headers: response.headers, body: json ?? bytes },
    given: { method, path: new URL(response.url).pathname, status, mediaType, body: json },
  };
}
