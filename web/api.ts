import type { ModelAnswer } from '../server/http/contracts/model.ts';
import type { ProblemAnswer } from '../server/http/contracts/service.ts';
import { authorHeaders, waitForToken } from './session.ts';
import { commonTexts } from './texts/common.ts';

const texts = commonTexts.errors;

/** A call that the service refused, or that did not reach it. The message can be shown to a person. */
export class ApiProblem extends Error {
  override readonly name = 'ApiProblem';
  /** The problem's stable code; `unreachable` without an answer, `unknown` where the answer has no code. */
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
  /** For `If-Match` in a later write. */
  readonly etag: string | null;
}

interface CallOptions {
  readonly json?: unknown;
  /** Raw bytes, instead of `json`. */
  readonly bytes?: { readonly data: Blob; readonly mediaType: string };
  /** The tag of what was loaded; null if nothing was there. Left out, the write may overwrite anything. */
  readonly ifMatch?: string | null;
  readonly signal?: AbortSignal;
}

type Method = 'GET' | 'PUT' | 'POST' | 'PATCH' | 'DELETE';

/** Calls the service. Where a token is missing, it waits for one and calls again. @throws ApiProblem */
export async function call<T>(method: Method, path: string, options: CallOptions = {}): Promise<Reply<T>> {
  const response = await send(path, {
    method,
    signal: options.signal,
    headers: {
      ...(method !== 'GET' && authorHeaders()),
      ...(options.json !== undefined && { 'content-type': 'application/json' }),
      ...(options.bytes && { 'content-type': options.bytes.mediaType }),
      ...(options.ifMatch === null && { 'if-none-match': '*' }),
      ...(options.ifMatch && { 'if-match': options.ifMatch }),
    },
    body: options.bytes?.data ?? (options.json === undefined ? undefined : JSON.stringify(options.json)),
  });
  const text = await response.text();
  return { data: (text === '' ? undefined : JSON.parse(text)) as T, etag: response.headers.get('etag') };
}

/** Reads the JSON at a path. @throws ApiProblem */
export async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await call<T>('GET', path, { signal })).data;
}

/** Fetches an image; a cached one is revalidated with the service. @throws ApiProblem */
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

/** Reads the problem in an answer's body. Its message can be shown to a person. */
export function readProblem(status: number, body: string, retryAfter: string | null = null): ApiProblem {
  const retryAfterS = retryAfter !== null && /^\d+$/.test(retryAfter) ? Number(retryAfter) : null;
  try {
    const answer = JSON.parse(body) as Partial<ProblemAnswer>;
    const message = answer.detail ?? answer.title;
    if (message) return new ApiProblem(answer.code ?? 'unknown', message, answer, retryAfterS);
  } catch {
    // not JSON: probably the page of a proxy
  }
  const message = status >= 500 ? texts.serviceFailed : texts.refusedWithoutReason;
  return new ApiProblem('unknown', message, { status }, retryAfterS);
}

function unreachable(): ApiProblem {
  return new ApiProblem('unreachable', texts.unreachable);
}

/** Encodes one path segment. */
export function seg(code: string): string {
  return encodeURIComponent(code);
}

/** The message of an error, as a sentence. */
export function getErrorMessage(error: unknown): string {
  if (error instanceof ApiProblem) return error.message;
  return error instanceof Error ? error.message : String(error);
}

const MEDIA_TYPES = [
  ['.glb', 'model/gltf-binary'],
  ['.gltf', 'model/gltf+json'],
  ['.zip', 'application/zip'],
] as const;

export const MODEL_ENDINGS = MEDIA_TYPES.map(([ending]) => ending).join(',');

/** The media type of a model file by its ending, or null for other files. */
export function getModelMediaType(fileName: string): string | null {
  const name = fileName.toLowerCase();
  return MEDIA_TYPES.find(([ending]) => name.endsWith(ending))?.[1] ?? null;
}

/**
 * Uploads a model as the product's next revision.
 * It uses XMLHttpRequest, because fetch does not report upload progress.
 * @param onProgress receives the share sent, 0–1; after 1 the service measures the model
 * @param hold stores the revision without making it current
 * @throws ApiProblem
 */
export async function uploadModel(
  code: string,
  file: File,
  onProgress: (share: number) => void,
  { hold = false }: { readonly hold?: boolean } = {},
): Promise<ModelAnswer> {
  const mediaType = getModelMediaType(file.name);
  if (!mediaType) {
    throw new ApiProblem('media-type', commonTexts.errors.notAModel(file.name));
  }
  for (;;) {
    const path = `/api/products/${seg(code)}/model${hold ? '?hold=1' : ''}`;
    const { status, body } = await sendFile(path, mediaType, file, onProgress);
    if (status === 401) await waitForToken();
    else if (status >= 200 && status < 300) return JSON.parse(body) as ModelAnswer;
    else throw readProblem(status, body);
  }
}

function sendFile(
  path: string,
  mediaType: string,
  file: File,
  onProgress: (share: number) => void,
): Promise<{ status: number; body: string }> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open('PUT', path);
    request.setRequestHeader('content-type', mediaType);
    request.upload.onprogress = (event) => {
      if (event.lengthComputable && event.total > 0) onProgress(event.loaded / event.total);
    };
    request.onload = () => resolve({ status: request.status, body: request.responseText });
    request.onerror = () => reject(unreachable());
    request.send(file);
  });
}
