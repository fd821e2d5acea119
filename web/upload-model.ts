import type { ModelAnswer } from '../server/http/answers.ts';
import { ApiProblem, readProblem, seg, unreachable } from './api.ts';
import { waitForToken } from './session.ts';

const MEDIA_TYPES = [
  ['.glb', 'model/gltf-binary'],
  ['.gltf', 'model/gltf+json'],
  ['.zip', 'application/zip'],
] as const;

export const MODEL_ENDINGS = MEDIA_TYPES.map(([ending]) => ending).join(',');

/** The media type a model file is sent as, or null when it is none we send. */
export function getModelMediaType(fileName: string): string | null {
  const name = fileName.toLowerCase();
  return MEDIA_TYPES.find(([ending]) => name.endsWith(ending))?.[1] ?? null;
}

/**
 * Sends a model as the product's next revision. `onProgress` hears the share sent, 0–1; after 1 the service surveys.
 * With `hold` it does not become current, and waits until it is used.
 * By XMLHttpRequest, since fetch does not tell how much has been sent.
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
    throw new ApiProblem('media-type', `“${file.name}” is no .glb, .gltf or .zip. Export the model as GLB.`);
  }
  for (;;) {
    const path = `/api/products/${seg(code)}/model${hold ? '?hold=1' : ''}`;
    const { status, body } = await send(path, mediaType, file, onProgress);
    if (status === 401) await waitForToken();
    else if (status >= 200 && status < 300) return JSON.parse(body) as ModelAnswer;
    else throw readProblem(status, body);
  }
}

function send(
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
