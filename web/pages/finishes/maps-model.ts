import { signal } from '@preact/signals';
import type { MapImage } from '../../../renderer/page/finish-document.ts';
import { type CodeCounts, findLevelledType } from '../../../server/core/finish/level-map.ts';
import type { ResolvedFinish } from '../../../server/core/finish/resolve-finish.ts';
import type { FileAnswer } from '../../../server/http/contracts/finish-uploads.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';

/** Facts about images by digest, loaded on request. */
export function createMapsModel() {
  const files = signal<ReadonlyMap<string, FileAnswer>>(new Map());
  const problem = signal<string | null>(null);
  const busy = signal(false);
  const asked = new Set<string>();

  function keep(file: FileAnswer): void {
    asked.add(file.sha256);
    files.value = new Map(files.value).set(file.sha256, file);
    // the live preview shows the converted copy, and needs its media type
    void loadFacts([file.encoding?.asColour ?? undefined]);
  }

  /** Loads the facts about these images, each once. */
  async function loadFacts(digests: readonly (string | undefined)[]): Promise<void> {
    const fresh = [...new Set(digests)].filter((sha256): sha256 is string => !!sha256 && !asked.has(sha256));
    for (const sha256 of fresh) asked.add(sha256);
    await Promise.all(
      fresh.map(async (sha256) => {
        try {
          keep(await get<FileAnswer>(`/api/files/${seg(sha256)}`));
        } catch (error) {
          asked.delete(sha256);
          problem.value = getErrorMessage(error);
        }
      }),
    );
  }

  /** Uploads an image. On failure it sets `problem` and returns null. */
  async function upload(file: File): Promise<FileAnswer | null> {
    busy.value = true;
    problem.value = null;
    try {
      // the service detects the format from the first bytes, since file names and browsers may be wrong
      const bytes = { data: file, mediaType: 'application/octet-stream' };
      const { data } = await call<FileAnswer>('POST', '/api/files', { bytes });
      keep(data);
      return data;
    } catch (error) {
      problem.value = `${file.name}: ${getErrorMessage(error)}`;
      return null;
    } finally {
      busy.value = false;
    }
  }

  /** The address of an image for the studio; undefined until its media type is known. */
  function findImage(sha256: string, contrast: number | null): MapImage | undefined {
    const file = files.value.get(sha256);
    if (!file) return undefined;
    const address = contrast === null ? getImageAddress(sha256) : `${getImageAddress(sha256)}?contrast=${contrast}`;
    const mimeType = contrast === null ? file.mimeType : findLevelledType(file.mimeType);
    return { uri: new URL(address, location.href).href, mimeType };
  }

  /** The finish as it will be stored: a colour map outside sRGB is replaced by its converted copy. */
  function useCopies(finish: ResolvedFinish): ResolvedFinish {
    const copy = files.value.get(finish.maps.colour ?? '')?.encoding?.asColour;
    return copy ? { ...finish, maps: { ...finish.maps, colour: copy } } : finish;
  }

  /** The code counts that level a colour map; null until it is measured, or if it cannot be. */
  function recallCodes(sha256: string): CodeCounts | null {
    const copy = files.value.get(sha256)?.encoding?.asColour;
    return files.value.get(copy ?? sha256)?.facts?.content.codes ?? null;
  }

  return { files, problem, busy, loadFacts, upload, findImage, useCopies, recallCodes };
}

export type MapsModel = ReturnType<typeof createMapsModel>;

export function getImageAddress(sha256: string): string {
  return `/api/files/${seg(sha256)}/image`;
}

/** File endings of map images. */
export const IMAGE_ENDINGS = '.png,.jpg,.jpeg,.webp,.ktx2';
