import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { Ajv } from 'ajv';
import { ConfigError } from '../config.ts';
import { foldCode } from '../core/codes.ts';
import type { Article, Finish, FinishMaps } from '../core/finish/finish.ts';
import { type CodeCounts, makeLevelTables } from '../core/finish/level-map.ts';
import { sniffImage } from '../core/finish/map-image.ts';
import { type GivenArticle, type GivenFinish, readArticle, readFinish } from '../core/finish/read-finish.ts';
import { findMaps, type ResolvedFinish, resolveFinish } from '../core/finish/resolve-finish.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import type { MapFile, ReadMap } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { holdsMaterial } from '../gltf/materials/supplied/material-glb.ts';
import { ArticleBody, FinishBody } from '../http/contracts/finish.ts';
import { convertToSrgb } from '../images/convert-to-srgb.ts';
import { damageProblem } from '../images/image-codec.ts';
import { measureImageFile, measureMap } from '../images/measure-map.ts';
import { levelImage } from '../images/remake-map.ts';
import { FILE_TEXTS } from './texts.ts';

interface FinishFile {
  /** By folded code, in the file's order. */
  readonly finishes: ReadonlyMap<string, Finish>;
  readonly resolved: ReadonlyMap<string, ResolvedFinish>;
  readonly readMap: ReadMap;
}

/**
 * Reads a file of finishes: `{"articles": {CODE: …}, "finishes": {CODE: …}}`. Each has the form of the API, but maps and
 * supplied materials are names of files in the same folder.
 * @throws ConfigError for a wrong form, Problem for values that a finish may not have
 */
export async function readFinishes(path: string): Promise<FinishFile> {
  const data = await readJson(path);
  const maps = new Map<string, CountedMap>();
  const articles = new Map<string, Article>();
  const finishes = new Map<string, Finish>();
  for (const [code, given] of Object.entries(data.articles ?? {})) {
    const checked = await readEntry<GivenArticle>(path, maps, ArticleBody, `articles/${code}`, given);
    articles.set(foldCode(code), readArticle(code, checked));
  }
  for (const [code, given] of Object.entries(data.finishes ?? {})) {
    const checked = await readEntry<GivenFinish>(path, maps, FinishBody, `finishes/${code}`, given);
    const article = checked.article === undefined ? null : articles.get(foldCode(checked.article));
    if (article === undefined) {
      throw new ConfigError(FILE_TEXTS.unknownArticle(`finishes/${code}`, checked.article));
    }
    finishes.set(foldCode(code), readFinish(code, checked, article));
  }
  const articleOf = ({ article }: Finish) => (article ? (articles.get(foldCode(article)) ?? null) : null);
  const codes = new Map<string, CodeCounts | null>();
  for (const finish of finishes.values()) {
    const { colour } = findMaps(finish, articleOf(finish));
    if (colour !== undefined) codes.set(colour, maps.get(colour)!.codes);
  }
  const resolved = new Map(
    [...finishes].map(([key, finish]) => [
      key,
      resolveFinish(finish, articleOf(finish), (sha256) => codes.get(sha256) ?? null),
    ]),
  );
  const levelled = new Map<string, Promise<MapFile>>();
  const readMap: ReadMap = async (sha256, contrast) => {
    const map = maps.get(sha256)!;
    if (contrast === undefined) return map;
    const key = `${sha256} ${contrast}`;
    const made = levelled.get(key) ?? levelImage(map.bytes, makeLevelTables(codes.get(sha256)!, contrast));
    levelled.set(key, made);
    return made;
  };
  return { finishes, resolved, readMap };
}

async function readJson(
  path: string,
): Promise<{ articles?: Record<string, unknown>; finishes?: Record<string, unknown> }> {
  try {
    const data = JSON.parse(await readFile(path, 'utf8')) as unknown;
    if (typeof data === 'object' && data !== null && 'finishes' in data) return data as never;
  } catch (error) {
    throw new ConfigError(FILE_TEXTS.unreadable(path, (error as Error).message));
  }
  throw new ConfigError(FILE_TEXTS.noFinishes(path));
}

/** A map, and how often each code occurs in it; null where codes are not counted, as in KTX2. */
interface CountedMap extends MapFile {
  readonly codes: CodeCounts | null;
}

/** Replaces file names by digests, then checks the form against the API's contract. */
async function readEntry<T>(
  path: string,
  maps: Map<string, CountedMap>,
  contract: object,
  where: string,
  given: unknown,
): Promise<T> {
  const copy = structuredClone(given) as { maps?: Record<string, string>; supplied?: { file: string } };
  for (const [use, name] of Object.entries(copy?.maps ?? {})) {
    const bytes = await readFile(join(dirname(path), name)).catch(() => null);
    const mimeType = bytes && sniffImage(bytes);
    const place = FILE_TEXTS.names(`${where}/maps/${use}`, name);
    if (!bytes || !mimeType) throw new ConfigError(FILE_TEXTS.notAnImage(place));
    const map = await readMapFile({ bytes, mimeType }, use, place);
    const sha256 = createHash('sha256').update(map.bytes).digest('hex');
    maps.set(sha256, map);
    (copy.maps as Record<keyof FinishMaps, string>)[use as keyof FinishMaps] = sha256;
  }
  if (copy?.supplied) copy.supplied.file = await readSuppliedFile(path, maps, where, copy.supplied.file);
  const validate = new Ajv({ allowUnionTypes: true }).compile(contract);
  if (!validate(copy)) {
    const [first] = validate.errors!;
    const { instancePath, message, params } = first!;
    throw new ConfigError(FILE_TEXTS.wrongForm(where + instancePath, message, params.additionalProperty));
  }
  return copy as T;
}

/** Measures a map. A colour map in another space than sRGB is converted, as an upload is; data maps stay as they are. */
async function readMapFile(map: MapFile, use: string, place: string): Promise<CountedMap> {
  try {
    const { hasProfile, facts, widthPx, heightPx } = await measureImageFile(map.bytes);
    if (widthPx * heightPx > MAP_PIXEL_LIMIT) throw damageProblem(FILE_TEXTS.tooManyPixels);
    const converted = use === 'colour' && hasProfile ? await convertToSrgb(map.bytes) : null;
    if (!converted?.png) return { ...map, codes: facts?.content.codes ?? null };
    const { codes } = (await measureMap(converted.png)).content;
    return { bytes: converted.png, mimeType: 'image/png', codes };
  } catch (error) {
    throw new ConfigError(
      FILE_TEXTS.brokenImage(place, error instanceof Problem ? error.message : FILE_TEXTS.unreadableImage),
    );
  }
}

/** Reads a supplied material: a GLB of that material alone, in the folder of the file. */
async function readSuppliedFile(
  path: string,
  maps: Map<string, CountedMap>,
  where: string,
  name: string,
): Promise<string> {
  const file = join(dirname(path), String(name));
  const bytes = await readFile(file).catch(() => null);
  if (!bytes || !(await holdsMaterial(file))) {
    throw new ConfigError(FILE_TEXTS.notAMaterial(FILE_TEXTS.names(`${where}/supplied/file`, name)));
  }
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  maps.set(sha256, { bytes, mimeType: 'model/gltf-binary', codes: null });
  return sha256;
}
