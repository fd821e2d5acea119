import { checkEncoding } from '../core/finish/check-encoding.ts';
import { checkMap, checkMapUse, looksNormal, type MapUnderCheck } from '../core/finish/check-map.ts';
import type { MapFacts, MapUse } from '../core/finish/map-facts.ts';
import type { StoredImage } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Finding } from '../core/product/finding.ts';
import type { Context } from './context.ts';
import { recallMapFacts } from './recall-maps.ts';

/** An uploaded image, what was measured of it, and what is said of it as a map. */
export interface DescribedFile extends StoredImage {
  /** Null where the image is not measured: KTX2. */
  readonly facts: MapFacts | null;
  /** Null where it was not measured. */
  readonly looksLike: 'normal' | 'grey' | 'colour' | null;
  /** Whatever it is used as. */
  readonly findings: readonly Finding[];
  /** What comes to that when it is used as one of the maps of a finish. */
  readonly uses: Readonly<Record<MapUse, readonly Finding[]>>;
}

/**
 * Describes an uploaded image; it is measured once, and that is stored.
 * @throws Problem `not-found` for a digest nobody uploaded an image of
 */
export async function describeFile(
  context: Pick<Context, 'stores' | 'files' | 'imaging'>,
  sha256: string,
): Promise<DescribedFile> {
  const image = await context.stores.getFile(sha256);
  if (!image) {
    throw new Problem('not-found', {
      detail: `No image of the digest “${sha256.slice(0, 80)}” was uploaded. Upload it with POST /api/files, which answers its digest.`,
      received: sha256.slice(0, 80),
    });
  }
  return describe(image, await recallMapFacts(context, sha256));
}

function describe(image: StoredImage, facts: MapFacts | null): DescribedFile {
  const map: MapUnderCheck = { ...image, facts };
  const checkUse = (use: MapUse) => [...checkMapUse(map, use), ...checkEncoding(image, use)];
  return {
    ...image,
    facts,
    looksLike: facts && (looksNormal(facts) ? 'normal' : facts.content.grey ? 'grey' : 'colour'),
    findings: checkMap(map),
    uses: {
      colour: checkUse('colour'),
      normal: checkUse('normal'),
      roughness: checkUse('roughness'),
    },
  };
}
