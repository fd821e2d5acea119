import { foldCode } from '../core/codes.ts';
import type { Article, Finish } from '../core/finish/finish.ts';
import { makeLevelTables } from '../core/finish/level-map.ts';
import type { MapFacts } from '../core/finish/map-image.ts';
import { findMaps, type RecallCodes, type ResolvedFinish } from '../core/finish/resolve-finish.ts';
import type { ReadMap } from '../core/ports/models.ts';
import type { StoredPicture } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { type Finding, makeFinding } from '../core/product/finding.ts';
import type { Sliced } from '../core/slices.ts';
import { ignoreStorageFault } from '../core/storage-faults.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import { createStoreCache, digest, shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { steadyNow } from './steady-now.ts';

type Measuring = Pick<Context, 'stores' | 'files' | 'imaging'>;

/** Dyeworks tries again after this to read a map: a thread may have stopped, or the file may have been missing. */
const RETRY_MS = 60_000;

interface Recalled {
  readonly facts: MapFacts | null;
  /** Why the image cannot be decoded; null if it can, or if it cannot be read for another reason. */
  readonly damage: Problem | null;
  /** When Dyeworks tries again, ms as of `steadyNow`; Infinity for final results. */
  readonly until: number;
}

/** Facts read from the store: three lists of 256 counts per map, and a library has some hundred maps. */
const recalled = createStoreCache<Recalled>(32 * 1024 * 1024, () => 3 * 256 * 8);

/**
 * The measurements of an uploaded image. It is measured once, and the result is stored. Null if it is not measured, as for KTX2.
 */
export async function recallMapFacts(context: Measuring, sha256: string): Promise<MapFacts | null> {
  return (await recall(context, sha256)).facts;
}

async function recall({ stores, files, imaging }: Measuring, sha256: string): Promise<Recalled> {
  const known = recalled(stores);
  const found = known.get(sha256);
  if (found && steadyNow() < found.until) return found;
  return shareInFlight(`map-facts ${sha256}`, async () => {
    const made = await readOrMeasure().then(
      (facts): Recalled => ({ facts, damage: null, until: Number.POSITIVE_INFINITY }),
      // the upload was decoded, so the cause of a failure now may be temporary
      (error: unknown): Recalled => ({
        facts: null,
        damage: error instanceof Problem && error.code === 'image-unreadable' ? error : null,
        until: steadyNow() + RETRY_MS,
      }),
    );
    known.set(sha256, made);
    return made;
  });

  async function readOrMeasure(): Promise<MapFacts | null> {
    const stored = await stores.getMapFacts(sha256);
    if (stored !== undefined) return stored;
    const measured = await imaging.measureMap(await files.read(sha256));
    await stores.putMapFacts(sha256, measured).catch(ignoreStorageFault);
    return measured;
  }
}

/**
 * Refuses a stored image that cannot be decoded. Earlier versions did not check this on upload.
 * @throws Problem `image-unreadable`
 */
export async function refuseDamaged(context: Measuring, sha256: string): Promise<void> {
  const { damage } = await recall(context, sha256);
  if (!damage) return;
  throw new Problem('image-unreadable', {
    ...damage.more,
    detail: FINISH_PROBLEMS['image-unreadable'].stored,
    where: `file ${sha256.slice(0, 12)}`,
  });
}

/** Findings for maps of finishes that cannot be decoded. They block a delivery. */
export async function listDamagedMaps(context: Measuring, finishes: Iterable<ResolvedFinish>): Promise<Finding[]> {
  const findings: Finding[] = [];
  for (const { finish, maps } of finishes) {
    for (const [use, sha256] of Object.entries(maps)) {
      const { damage } = await recall(context, sha256);
      if (!damage) continue;
      findings.push(
        makeFinding(
          'image-undecodable:finish-map',
          { finish, use },
          {
            where: `finish ${finish}`,
            place: `maps.${use}`,
            seen: sha256.slice(0, 12),
            expected: 'an image that can be decoded',
          },
          'error',
        ),
      );
    }
  }
  return findings;
}

/** The measured colour codes of several maps. */
interface RecalledCodes {
  readonly codes: RecallCodes;
  /** When Dyeworks tries again to read a map that failed, ms as of `steadyNow`; Infinity if none failed. */
  readonly until: number;
}

/** Recalls the colour codes of the colour maps of finishes, which levelling needs. */
export async function recallColourMaps(
  context: Measuring,
  finishes: readonly Pick<Finish, 'maps' | 'article' | 'supplied'>[],
  articles: readonly Article[],
): Promise<RecalledCodes> {
  const byCode = new Map(articles.map((article) => [foldCode(article.article), article]));
  return recallCodes(context, await inTurns(listColourMaps(finishes, byCode)));
}

/** Finishes that are looked at in one go, some milliseconds. */
const FINISHES_AT_ONCE = 1000;

/** The colour maps of finishes, each once. @param articles by folded code */
export function* listColourMaps(
  finishes: Iterable<Pick<Finish, 'maps' | 'article' | 'supplied'>>,
  articles: ReadonlyMap<string, Article>,
): Sliced<string[]> {
  const maps = new Set<string>();
  let seen = 0;
  for (const finish of finishes) {
    const article = finish.article ? (articles.get(foldCode(finish.article)) ?? null) : null;
    const { colour } = findMaps(finish, article);
    if (colour !== undefined) maps.add(colour);
    if (++seen % FINISHES_AT_ONCE === 0) yield;
  }
  return [...maps];
}

export async function recallCodes(context: Measuring, digests: readonly string[]): Promise<RecalledCodes> {
  const maps = new Map<string, Recalled>();
  // one after the other, since each may have to be decoded
  for (const sha256 of new Set(digests)) maps.set(sha256, await recall(context, sha256));
  return {
    codes: (sha256) => maps.get(sha256)?.facts?.content.codes ?? null,
    until: [...maps.values()].reduce((first, { until }) => Math.min(first, until), Number.POSITIVE_INFINITY),
  };
}

/**
 * An uploaded colour map, re-encoded at a contrast. It is made once, and stored with the pictures.
 * @param contrast one of `CONTRASTS`
 */
export async function readLevelled(
  context: Measuring & Pick<Context, 'pictures'>,
  sha256: string,
  contrast: number,
): Promise<StoredPicture> {
  const { files, imaging, pictures } = context;
  const key = digest(['levelled-map', 1, sha256, contrast]);
  const known = await pictures.get(key);
  if (known) return known;
  return shareInFlight(key, async () => {
    await refuseDamaged(context, sha256);
    const facts = await recallMapFacts(context, sha256);
    if (!facts) throw new Error(`the colour map ${sha256} cannot be measured, so it cannot be levelled`);
    const tables = makeLevelTables(facts.content.codes, contrast);
    const { bytes, mimeType } = await imaging.levelImage(await files.read(sha256), tables);
    return pictures.put(key, bytes, mimeType);
  });
}

/** Reads uploaded images (with a contrast: levelled) and supplied materials by digest, each once. */
export function makeMapReader(context: Pick<Context, 'stores' | 'files' | 'imaging' | 'pictures'>): ReadMap {
  const read = new Map<string, ReturnType<ReadMap>>();
  return (sha256, contrast) => {
    const key = `${sha256} ${contrast ?? ''}`;
    let map = read.get(key);
    if (!map) {
      map = contrast === undefined ? readFile(context, sha256) : readAtContrast(context, sha256, contrast);
      read.set(key, map);
    }
    return map;
  };
}

async function readAtContrast(
  context: Parameters<typeof makeMapReader>[0],
  sha256: string,
  contrast: number,
): ReturnType<ReadMap> {
  const { bytes, mediaType } = await readLevelled(context, sha256, contrast);
  return { bytes, mimeType: mediaType };
}

/** The store lists the media types of images. A supplied material is only a file. */
async function readFile(context: Pick<Context, 'stores' | 'files' | 'imaging'>, sha256: string): ReturnType<ReadMap> {
  const { stores, files } = context;
  const image = await stores.getFile(sha256);
  if (image) await refuseDamaged(context, sha256);
  return { bytes: await files.read(sha256), mimeType: image?.mimeType ?? 'model/gltf-binary' };
}
