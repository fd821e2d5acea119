import type { ModelAnswer } from '../server/http/contracts/model.ts';
import { ApiProblem, readProblem, seg, unreachable } from './api.ts';
import { waitForToken } from './session.ts';
import { commonTexts } from './texts/common.ts';

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
