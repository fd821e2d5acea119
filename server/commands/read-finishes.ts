import { readFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Context } from '../actions/context.ts';
import { putArticle, putFinish } from '../actions/edit-finish.ts';
import { addFile } from '../actions/image-files.ts';
import { ConfigError } from '../config.ts';
import { NOBODY } from '../core/history/history.ts';
import { Problem } from '../core/problems.ts';
import { ArticleBody, FinishBody } from '../http/contracts/finish.ts';
import { checkForm, readJsonFile } from './read-files.ts';
import { FILE_TEXTS } from './texts.ts';

/** An article or a finish as its file has it: maps and supplied materials are names of files in the same folder. */
interface Entry {
  readonly maps?: Readonly<Record<string, string>>;
  readonly supplied?: { readonly file: string };
}

/**
 * Stores the finishes of a file: `{"articles": {CODE: …}, "finishes": {CODE: …}}`. Each has the form of the API, but maps and
 * supplied materials are names of files in the same folder.
 * @returns the codes of the finishes, in the file's order
 * @throws ConfigError for a wrong form or an unusable file, Problem for values that a finish may not have
 */
export async function storeFinishes(context: Context, path: string): Promise<readonly string[]> {
  const data = await readJsonFile(path);
  if (typeof data !== 'object' || data === null || !('finishes' in data)) {
    throw new ConfigError(FILE_TEXTS.noFinishes(path));
  }
  const { articles = {}, finishes } = data as Record<'articles' | 'finishes', Readonly<Record<string, Entry>>>;
  const given = {
    articles: await readEntries<ArticleBody>(context, path, 'articles', articles, ArticleBody),
    finishes: await readEntries<FinishBody>(context, path, 'finishes', finishes, FinishBody),
  };
  await context.stores.transaction(async (stores) => {
    for (const [code, article] of given.articles) await putArticle({ ...context, stores }, code, article, NOBODY);
    for (const [code, finish] of given.finishes) {
      await putFinish({ ...context, stores }, code, finish, NOBODY).catch((error: unknown) => {
        if (!(error instanceof Problem) || error.code !== 'unknown-article') throw error;
        throw new ConfigError(FILE_TEXTS.unknownArticle(`finishes/${code}`, finish.article));
      });
    }
  });
  return given.finishes.map(([code]) => code);
}

/** Stores the files that entries name, puts their digests in place of the names, and checks the form against the API's. */
async function readEntries<T>(
  context: Context,
  path: string,
  list: 'articles' | 'finishes',
  entries: Readonly<Record<string, Entry>>,
  contract: object,
): Promise<[code: string, given: T][]> {
  const read: [string, T][] = [];
  for (const [code, given] of Object.entries(entries)) {
    const where = `${list}/${code}`;
    const maps: Record<string, string> = {};
    for (const [use, name] of Object.entries(given?.maps ?? {})) {
      maps[use] = await storeMap(context, path, name, FILE_TEXTS.names(`${where}/maps/${use}`, name));
    }
    const entry = {
      ...given,
      ...(given?.maps && { maps }),
      ...(given?.supplied && {
        supplied: { ...given.supplied, file: await storeSupplied(context, path, where, given.supplied.file) },
      }),
    };
    checkForm(contract, entry, where);
    read.push([code, entry as T]);
  }
  return read;
}

async function storeMap(context: Context, path: string, name: string, place: string): Promise<string> {
  const bytes = await readFile(join(dirname(path), String(name))).catch(() => null);
  if (!bytes) throw new ConfigError(FILE_TEXTS.notAnImage(place));
  try {
    return (await addFile(context, bytes)).sha256;
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    if (error.code === 'image-type') throw new ConfigError(FILE_TEXTS.notAnImage(place));
    throw new ConfigError(FILE_TEXTS.brokenImage(place, error.message));
  }
}

/** Stores a supplied material: a GLB of that material alone. */
async function storeSupplied(
  { files, models }: Pick<Context, 'files' | 'models'>,
  path: string,
  where: string,
  name: string,
): Promise<string> {
  const file = join(dirname(path), String(name));
  const bytes = await readFile(file).catch(() => null);
  if (!bytes || !(await models.holdsMaterial(file))) {
    throw new ConfigError(FILE_TEXTS.notAMaterial(FILE_TEXTS.names(`${where}/supplied/file`, name)));
  }
  return (await files.putBytes(bytes)).sha256;
}
