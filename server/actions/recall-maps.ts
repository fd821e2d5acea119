import { foldCode } from '../core/codes.ts';
import type { Article, Finish } from '../core/finish/finish.ts';
import { makeLevelTables } from '../core/finish/level-map.ts';
import type { MapFacts } from '../core/finish/map-facts.ts';
import { findMaps, type RecallCodes } from '../core/finish/resolve-finish.ts';
import type { MapFile } from '../core/ports/models.ts';
import type { Stores } from '../core/ports/stores.ts';
import type { Context } from './context.ts';
import { once } from './once.ts';
import { digest } from './studio-files.ts';

type Measuring = Pick<Context, 'stores' | 'files' | 'imaging'>;

/** Facts already read from the store; some kilobytes a map, and a library has some hundred. */
const recalled = new WeakMap<Stores, Map<string, MapFacts | null>>();

/**
 * What was measured of an uploaded image; each is measured once and stored. Null where it is not decoded here, as KTX2 is
 * not.
 */
export async function recallMapFacts({ stores, files, imaging }: Measuring, sha256: string): Promise<MapFacts | null> {
  const known = recalled.get(stores) ?? new Map<string, MapFacts | null>();
  recalled.set(stores, known);
  const facts = known.get(sha256);
  if (facts !== undefined) return facts;
  return once(`map-facts ${sha256}`, async () => {
    const stored = await stores.getMapFacts(sha256);
    if (stored !== undefined) {
      known.set(sha256, stored);
      return stored;
    }
    try {
      const measured = await imaging.measureMap(await files.read(sha256));
      await stores.putMapFacts(sha256, measured);
      known.set(sha256, measured);
      return measured;
    } catch {
      // it was decoded when it came; what stands in the way now may be gone the next time
      return null;
    }
  });
}

/** Recalls the colour maps of finishes, by which they are levelled. */
export async function recallColourMaps(
  context: Measuring,
  finishes: readonly Pick<Finish, 'maps' | 'article' | 'supplied'>[],
  articles: readonly Article[],
): Promise<RecallCodes> {
  const byCode = new Map(articles.map((article) => [foldCode(article.article), article]));
  const digests = finishes.flatMap(
    (finish) => findMaps(finish, finish.article ? (byCode.get(foldCode(finish.article)) ?? null) : null).colour ?? [],
  );
  return recallCodes(context, digests);
}

export async function recallCodes(context: Measuring, digests: readonly string[]): Promise<RecallCodes> {
  const facts = new Map<string, MapFacts | null>();
  // one after the other: each may have to be unpacked
  for (const sha256 of new Set(digests)) facts.set(sha256, await recallMapFacts(context, sha256));
  return (sha256) => facts.get(sha256)?.content.codes ?? null;
}

/**
 * An uploaded colour map re-encoded at a contrast; made once, and kept beside the pictures.
 * @param contrast one of `CONTRASTS`
 */
export async function readLevelled(
  context: Measuring & Pick<Context, 'pictures'>,
  sha256: string,
  contrast: number,
): Promise<MapFile> {
  const { files, imaging, pictures } = context;
  const key = digest(['levelled-map', 1, sha256, contrast]);
  const known = await pictures.get(key);
  if (known) return { bytes: known.bytes, mimeType: known.mediaType };
  return once(key, async () => {
    const facts = await recallMapFacts(context, sha256);
    if (!facts) throw new Error(`the colour map ${sha256} cannot be measured, and was to be levelled`);
    const tables = makeLevelTables(facts.content.codes, contrast);
    const { bytes, mimeType } = await imaging.levelImage(await files.read(sha256), tables);
    await pictures.put(key, bytes, mimeType);
    return { bytes, mimeType };
  });
}
