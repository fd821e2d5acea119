import type { ProblemAnswer } from '../server/http/answers.ts';
import { authorHeaders, waitForToken } from './session.ts';

/** A call the service refused, or that did not reach it. The message is written for people. */
export class ApiProblem extends Error {
  override readonly name = 'ApiProblem';
  /** The problem's stable code; `unreachable` when there was no answer, `unknown` when it said nothing we read. */
  readonly code: string;
  readonly answer: Partial<ProblemAnswer>;
  readonly retryAfterS: number | null;

  constructor(code: string, message: string, answer: Partial<ProblemAnswer> = {}, retryAfterS: number | null = null) {
    super(message);
    this.code = code;
    this.answer = answer;
    this.retryAfterS = retryAfterS;
  }
}

export interface Reply<T> {
  readonly data: T;
  /** To be sent back as `If-Match`. */
  readonly etag: string | null;
}

export interface CallOptions {
  readonly json?: unknown;
  /** In the place of `json`: bytes as they are. */
  readonly bytes?: { readonly data: Blob; readonly mediaType: string };
  readonly ifMatch?: string | null;
  readonly signal?: AbortSignal;
}

type Method = 'GET' | 'PUT' | 'POST' | 'PATCH' | 'DELETE';

/** Calls the service. Without the token it waits until one is given, and calls again. @throws ApiProblem */
export async function call<T>(method: Method, path: string, options: CallOptions = {}): Promise<Reply<T>> {
  const response = await send(path, {
    method,
    signal: options.signal,
    headers: {
      ...(method !== 'GET' && authorHeaders()),
      ...(options.json !== undefined && { 'content-type': 'application/json' }),
      ...(options.bytes && { 'content-type': options.bytes.mediaType }),
      ...(options.ifMatch && { 'if-match': options.ifMatch }),
    },
    body: options.bytes?.data ?? (options.json === undefined ? undefined : JSON.stringify(options.json)),
  });
  const text = await response.text();
  return { data: (text === '' ? undefined : JSON.parse(text)) as T, etag: response.headers.get('etag') };
}

/** What stands at the address, or null when nothing does; other refusals are thrown. */
export async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await call<T>('GET', path, { signal })).data;
}

/** Fetches an image, asking the service whether a kept one is still the one. @throws ApiProblem */
export async function getImage(path: string, signal?: AbortSignal): Promise<Blob> {
  return (await send(path, { signal, cache: 'no-cache' })).blob();
}

async function send(path: string, init: RequestInit): Promise<Response> {
  for (;;) {
    let response: Response;
    try {
      response = await fetch(path, { credentials: 'same-origin', ...init });
    } catch (error) {
      if (init.signal?.aborted) throw error;
      throw unreachable();
    }
    if (response.status === 401) await waitForToken();
    else if (response.ok) return response;
    else throw readProblem(response.status, await response.text(), response.headers.get('retry-after'));
  }
}

/** The problem in an answer's body, in words fit to be shown. */
export function readProblem(status: number, body: string, retryAfter: string | null = null): ApiProblem {
  const retryAfterS = retryAfter !== null && /^\d+$/.test(retryAfter) ? Number(retryAfter) : null;
  try {
    const answer = JSON.parse(body) as Partial<ProblemAnswer>;
    const message = answer.detail ?? answer.title;
    if (message) return new ApiProblem(answer.code ?? 'unknown', message, answer, retryAfterS);
  } catch {
    // not JSON: a proxy's page, most likely
  }
  const message =
    status >= 500
      ? 'The service could not do this now. Try again in a moment.'
      : 'The service did not take this, and gave no reason that can be shown here.';
  return new ApiProblem('unknown', message, { status }, retryAfterS);
}

export function unreachable(): ApiProblem {
  return new ApiProblem('unreachable', 'The service does not answer. See whether it is running, then try again.');
}

/** One path segment. */
export function seg(code: string): string {
  return encodeURIComponent(code);
}

/** What went wrong, as a sentence. */
export function say(error: unknown): string {
  if (error instanceof ApiProblem) return error.message;
  return error instanceof Error ? error.message : String(error);
}
