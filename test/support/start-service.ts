import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { readConfig } from '../../server/config.ts';
import { createService, type Service } from '../../server/main.ts';

/** A real service on a free port of the loopback, with a data folder of its own. */
export interface TestService {
  readonly url: string;
  readonly dataFolder: string;
  /** Settles once the demo is in. */
  readonly filled: Promise<void>;
  /** Calls with JSON (objects) or bytes, and reads a JSON answer where there is one. */
  call(method: string, path: string, body?: unknown, headers?: Record<string, string>): Promise<Answer>;
  close(): Promise<void>;
}

export interface Answer {
  readonly status: number;
  readonly headers: Headers;
  // biome-ignore lint/suspicious/noExplicitAny: tests read answers of every shape
  readonly body: any;
}

export async function startService(env: Record<string, string> = {}, dataFolder?: string): Promise<TestService> {
  const folder = dataFolder ?? (await mkdtemp(join(tmpdir(), 'dyeworks-test-')));
  const config = readConfig({
    DYEWORKS_PORT: '0',
    DYEWORKS_DEMO: 'off',
    DYEWORKS_LOG: 'silent',
    DYEWORKS_BROWSER: process.env.DYEWORKS_BROWSER,
    // tests run as root in all sorts of containers, some of which leave no sign
    DYEWORKS_SANDBOX: process.getuid?.() === 0 ? 'off' : 'auto',
    DYEWORKS_DATA: folder,
    ...env,
  });
  const service: Service = await createService(config);
  const url = await service.listen();
  return {
    url,
    dataFolder: folder,
    filled: service.filled,
    call: (method, path, body, headers) => call(url, method, path, body, headers),
    async close() {
      await service.close();
      if (dataFolder === undefined) await rm(folder, { recursive: true, force: true });
    },
  };
}

export async function call(
  url: string,
  method: string,
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<Answer> {
  const raw = body instanceof Uint8Array || typeof body === 'string' || body === undefined;
  const response = await fetch(url + path, {
    method,
    body: raw ? (body as BodyInit | undefined) : JSON.stringify(body),
    headers: raw ? headers : { 'content-type': 'application/json', ...headers },
  });
  const bytes = new Uint8Array(await response.arrayBuffer());
  const json = /json/.test(response.headers.get('content-type') ?? '');
  return {
    status: response.status,
    headers: response.headers,
    body: json ? JSON.parse(new TextDecoder().decode(bytes)) : bytes,
  };
}
