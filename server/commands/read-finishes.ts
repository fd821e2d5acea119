import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { Ajv } from 'ajv';
import { ConfigError } from '../config.ts';
import { foldCode } from '../core/codes.ts';
import type { Article, Finish, FinishMaps } from '../core/finish/finish.ts';
import { type CodeCounts, makeLevelTables } from '../core/finish/level-map.ts';
import { type GivenArticle, type GivenFinish, readArticle, readFinish } from '../core/finish/read-finish.ts';
import { findMaps, type ResolvedFinish, resolveFinish } from '../core/finish/resolve-finish.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import { sniffImage } from '../core/picture/sniff-image.ts';
import type { MapFile, ReadMap } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { holdsMaterial } from '../gltf/materials/supplied/inspect-material.ts';
import { ArticleBody, FinishBody } from '../http/contracts/finish.ts';
import { convertToSrgb } from '../images/convert-to-srgb.ts';
import { levelImage } from '../images/level-image.ts';
import { measureImageFile } from '../images/measure-image-file.ts';
import { measureMap } from '../images/measure-map.ts';
import { damaged } from '../images/read-pixels.ts';

export interface FinishFile {
  /** By folded code, in the file's order. */
  readonly finishes: ReadonlyMap<string, Finish>;
  readonly resolved: ReadonlyMap<string, ResolvedFinish>;
  readonly readMap: ReadMap;
}

/**
 * Reads a file of finishes: `{"articles": {CODE: …}, "finishes": {CODE: …}}`, each as the API takes it, save that maps
 * and supplied materials name files beside the file.
 * @throws ConfigError for what is not of that form, Problem for what a finish may not be
 */
export async function readFinishes(path: string): Promise<FinishFile> {
  const data = await readJson(path);
  const maps = new Map<string, TakenMap>();
  const articles = new Map<string, Article>();
  const finishes = new Map<string, Finish>();
  for (const [code, given] of Object.entries(data.articles ?? {})) {
    const checked = await take<GivenArticle>(path, maps, ArticleBody, `articles/${code}`, given);
    articles.set(foldCode(code), readArticle(code, checked));
  }
  for (const [code, given] of Object.entries(data.finishes ?? {})) {
    const checked = await take<GivenFinish>(path, maps, FinishBody, `finishes/${code}`, given);
    const article = checked.article === undefined ? null : articles.get(foldCode(checked.article));
    if (article === undefined) {
      throw new ConfigError(`finishes/${code} names the article “${checked.article}”, which the file does not hold.`);
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
    throw new ConfigError(`${path} cannot be read: ${(error as Error).message}`);
  }
  throw new ConfigError(`${path} holds no "finishes". It is {"articles": {CODE: …}, "finishes": {CODE: …}}.`);
}

/** A map with how often each code of it occurs; null where that is not counted, as in KTX2. */
interface TakenMap extends MapFile {
  readonly codes: CodeCounts | null;
}

/** Puts digests in the place of file names, then checks the form by the API's own contract. */
async function take<T>(
  path: string,
  maps: Map<string, TakenMap>,
  contract: object,
  where: string,
  given: unknown,
): Promise<T> {
  const copy = structuredClone(given) as { maps?: Record<string, string>; supplied?: { file: string } };
  for (const [use, name] of Object.entries(copy?.maps ?? {})) {
    const bytes = await readFile(join(dirname(path), name)).catch(() => null);
    const mimeType = bytes && sniffImage(bytes);
    if (!bytes || !mimeType)
      throw new ConfigError(
        `${where}/maps/${use} names “${name}”, which is no PNG, JPEG, WebP or KTX2 beside the file.`,
      );
    const map = await takeMap({ bytes, mimeType }, use, `${where}/maps/${use} names “${name}”`);
    const sha256 = createHash('sha256').update(map.bytes).digest('hex');
    maps.set(sha256, map);
    (copy.maps as Record<keyof FinishMaps, string>)[use as keyof FinishMaps] = sha256;
  }
  if (copy?.supplied) copy.supplied.file = await takeSupplied(path, maps, where, copy.supplied.file);
  const validate = new Ajv({ allowUnionTypes: true }).compile(contract);
  if (!validate(copy)) {
    const [first] = validate.errors!;
    throw new ConfigError(
      `${where}${first!.instancePath} ${first!.message}${first!.params.additionalProperty ? `: ${first!.params.additionalProperty}` : ''}.`,
    );
  }
  return copy as T;
}

/** A map as a finish uses it: a colour map that is not in sRGB is converted, as an upload is; data maps stay as they are. */
async function takeMap(map: MapFile, use: string, what: string): Promise<TakenMap> {
  try {
    const { hasProfile, facts, widthPx, heightPx } = await measureImageFile(map.bytes);
    if (widthPx * heightPx > MAP_PIXEL_LIMIT) throw damaged('it has more pixels than are taken');
    const converted = use === 'colour' && hasProfile ? await convertToSrgb(map.bytes) : null;
    if (!converted?.png) return { ...map, codes: facts?.content.codes ?? null };
    const { codes } = (await measureMap(converted.png)).content;
    return { bytes: converted.png, mimeType: 'image/png', codes };
  } catch (error) {
    const reason = error instanceof Problem ? error.message : 'The image cannot be read. Export it again.';
    throw new ConfigError(`${what}. ${reason}`);
  }
}

/** A supplied material is a GLB of that material alone, beside the file. */
async function takeSupplied(path: string, maps: Map<string, TakenMap>, where: string, name: string): Promise<string> {
  const file = join(dirname(path), String(name));
  const bytes = await readFile(file).catch(() => null);
  if (!bytes || !(await holdsMaterial(file))) {
    throw new ConfigError(`${where}/supplied/file names “${name}”, which is no GLB of one material beside the file.`);
  }
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  maps.set(sha256, { bytes, mimeType: 'model/gltf-binary', codes: null });
  return sha256;
}
