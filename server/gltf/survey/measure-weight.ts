import type { Survey, SurveyedImage } from '../../core/product/survey.ts';
import type { Container } from '../document/container.ts';
import type { GltfJson } from '../document/json.ts';
import type { Reachable } from './find-reachable.ts';
import { CAUSES, listViewReaders, storedRange } from './list-readers.ts';

/** Exporters align what they write to 4, 8 or 16 bytes; only longer runs that nothing reads are dead weight. */
const PADDING = 16;

export interface Weight {
  /** Heaviest first. */
  readonly causes: Survey['weight']['causes'];
  /** Bytes of the BIN chunk that nothing in use reads, padding left aside. */
  readonly unreadBytes: number;
}

/**
 * Weighs a file by what causes its bytes. A view that several read is shared out by what each takes of it; bytes that
 * two views cover count once, for the first.
 */
export function measureWeight(
  { json, jsonBytes, bin }: Pick<Container, 'json' | 'jsonBytes' | 'bin'>,
  reachable: Reachable,
  images: readonly SurveyedImage[],
): Weight {
  const causes = new Map<string, number>();
  const add = (cause: string, bytes: number) => {
    if (bytes > 0) causes.set(cause, (causes.get(cause) ?? 0) + bytes);
  };
  const imageCause = (image: number) => causeOfImage(images[image]?.usedBy ?? []);

  let inJson = 0;
  json.images?.forEach(({ uri }, index) => {
    if (!uri) return;
    inJson += uri.length;
    add(reachable.images.has(index) ? imageCause(index) : CAUSES.unread, uri.length);
  });
  add(CAUSES.json, jsonBytes - inJson);

  let unreadBytes = 0;
  let read = 0;
  const skip = (to: number) => {
    if (to - read >= PADDING) unreadBytes += to - read;
  };
  for (const { start, end, readers } of listRanges(json, reachable, imageCause)) {
    skip(start);
    const own = Math.max(0, end - Math.max(start, read));
    const taken = [...readers.values()].reduce((sum, bytes) => sum + bytes, 0);
    for (const [cause, bytes] of readers) add(cause, (own * bytes) / taken);
    read = Math.max(read, end);
  }
  if (bin) skip(bin.length);
  add(CAUSES.unread, unreadBytes);
  return {
    causes: [...causes]
      .map(([cause, bytes]) => ({ cause, bytes: Math.round(bytes) }))
      .sort((a, b) => b.bytes - a.bytes || (a.cause < b.cause ? -1 : 1)),
    unreadBytes,
  };
}

function listRanges(json: GltfJson, reachable: Reachable, imageCause: (image: number) => string) {
  return [...listViewReaders(json, reachable, imageCause)]
    .map(([view, readers]) => ({ ...storedRange(json, view), readers }))
    .filter(({ buffer }) => buffer === 0)
    .sort((a, b) => a.start - b.start);
}

/** Uses of an image by the end of the property's name, as the trade calls such maps; the first that fits. */
const MAPS: readonly (readonly [RegExp, string])[] = [
  [/\/(baseColor|diffuse)Texture$/, 'colour maps'],
  [/\/(metallicRoughness|specularGlossiness)Texture$/, 'roughness maps'],
  [/[nN]ormalTexture$/, 'normal maps'],
  [/\/occlusionTexture$/, 'occlusion maps'],
  [/\/emissiveTexture$/, 'emissive maps'],
];

function causeOfImage(usedBy: readonly string[]): string {
  return MAPS.find(([pattern]) => usedBy.some((use) => pattern.test(use)))?.[1] ?? 'other maps';
}
