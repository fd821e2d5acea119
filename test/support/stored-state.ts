import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { TestService } from './start-service.ts';

/**
 * Everything that a service has stored, from its API and its folder: two results are equal when nothing happened in
 * between.
 */
export async function readStoredState(service: TestService, headers: Record<string, string> = {}): Promise<unknown> {
  const get = async (path: string) => (await service.call('GET', path, undefined, headers)).body;
  const { products } = await get('/api/products');
  const perProduct = await Promise.all(
    products.map(async ({ code }: { code: string }) => [
      code,
      await get(`/api/products/${code}/slots`),
      await get(`/api/products/${code}/schedule`),
      await get(`/api/products/${code}/deliveries`),
    ]),
  );
  return {
    products,
    perProduct,
    lines: await get('/api/lines'),
    finishes: await get('/api/finishes'),
    articles: await get('/api/articles'),
    files: await listFiles(service),
  };
}

/** Stored files by digest. */
async function listFiles({ dataFolder }: TestService): Promise<string[]> {
  const all = await readdir(join(dataFolder, 'files'), { recursive: true, withFileTypes: true });
  return all
    .filter((entry) => entry.isFile())
    .map(({ parentPath, name }) => join(parentPath, name))
    .sort();
}

/** Files that are being written, or were left behind. */
export async function listTemporary({ dataFolder }: TestService): Promise<string[]> {
  const entries = await readdir(join(dataFolder, 'files', 'temporary'), { recursive: true, withFileTypes: true });
  return entries.filter((entry) => entry.isFile()).map((entry) => entry.name);
}
