import { createHash, randomUUID } from 'node:crypto';
import { createReadStream, mkdirSync, readdirSync, rmSync } from 'node:fs';
import { access, mkdir, open, readFile, rename, rm, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Files } from '../server/core/ports/stores.ts';
import { Problem } from '../server/core/problems.ts';
import { REQUEST_PROBLEMS } from '../server/core/texts/problems/request.ts';

/**
 * Files in a folder under their SHA-256, spread over 256 folders. Temporary files are beside them on the same disk, so
 * adopting one is a rename. A later start deletes what a crash left behind.
 */
export function createFiles(folder: string): Files {
  const temporary = join(folder, 'temporary');
  sweepTemporary(temporary);

  const getPath = (sha256: string) => join(folder, sha256.slice(0, 2), sha256);

  const files: Files = {
    getPath,

    newTemporary: async () => join(temporary, randomUUID()),

    discard: (path) => rm(path, { force: true }),

    async adopt(path, sha256) {
      const target = getPath(sha256);
      const { size } = await stat(path);
      if (await files.has(sha256)) {
        await files.discard(path);
        return { sha256, bytes: size };
      }
      await mkdir(dirname(target), { recursive: true });
      await rename(path, target);
      await syncFolder(dirname(target));
      return { sha256, bytes: size };
    },

    async putBytes(bytes) {
      const sha256 = createHash('sha256').update(bytes).digest('hex');
      if (await files.has(sha256)) return { sha256, bytes: bytes.length };
      const path = await files.newTemporary();
      const file = await open(path, 'w');
      try {
        await file.writeFile(bytes);
        await file.sync();
      } finally {
        await file.close();
      }
      return files.adopt(path, sha256);
    },

    async takeStream(stream, limitBytes) {
      const path = await files.newTemporary();
      const hash = createHash('sha256');
      const file = await open(path, 'w');
      let bytes = 0;
      try {
        for await (const chunk of stream) {
          bytes += chunk.length;
          if (bytes > limitBytes) {
            throw new Problem('body-too-large', {
              detail: REQUEST_PROBLEMS['body-too-large'].file(limitBytes),
              expected: limitBytes,
              received: bytes,
            });
          }
          hash.update(chunk);
          await file.write(chunk);
        }
        await file.sync();
      } catch (error) {
        await file.close();
        await files.discard(path);
        throw error;
      }
      await file.close();
      return { path, sha256: hash.digest('hex'), bytes };
    },

    async digest(path) {
      const hash = createHash('sha256');
      for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
      return hash.digest('hex');
    },

    read: (sha256) => readFile(getPath(sha256)),

    has: (sha256) =>
      access(getPath(sha256)).then(
        () => true,
        () => false,
      ),
  };
  return files;
}

/** Empties the folder of temporary files: the lock of the data folder says that no other process works on them. */
function sweepTemporary(folder: string): void {
  mkdirSync(folder, { recursive: true });
  for (const left of readdirSync(folder)) rmSync(join(folder, left), { recursive: true, force: true });
}

/** A rename is safe on disk once its folder is synced. Systems that cannot open folders skip this. */
async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null);
  if (!handle) return;
  await handle.sync().catch(() => undefined);
  await handle.close();
}
