import { createHash, randomUUID } from 'node:crypto';
import { createReadStream, mkdirSync, readdirSync, rmSync } from 'node:fs';
import { access, mkdir, open, readFile, rename, rm, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Files } from '../server/core/ports/stores.ts';
import { Problem } from '../server/core/problems.ts';
import { ignoreStorageFault } from '../server/core/storage-faults.ts';
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

    // what the disk does not delete now, the next start does
    discard: (path) => rm(path, { force: true }).catch(ignoreStorageFault),

    async adopt(path, sha256) {
      const target = getPath(sha256);
      try {
        const { size } = await stat(path);
        // a stored file of another length is damaged; the new one replaces it
        if ((await readSize(target)) === size) await files.discard(path);
        else {
          const made = await mkdir(dirname(target), { recursive: true });
          await rename(path, target);
          if (made !== undefined) await syncFolder(folder);
        }
        // another call may have renamed the same file just now
        await syncFolder(dirname(target));
        return { sha256, bytes: size };
      } catch (error) {
        await files.discard(path);
        throw error;
      }
    },

    async putBytes(bytes) {
      const sha256 = createHash('sha256').update(bytes).digest('hex');
      if ((await readSize(getPath(sha256))) === bytes.length) {
        await syncFolder(dirname(getPath(sha256)));
        return { sha256, bytes: bytes.length };
      }
      const path = await files.newTemporary();
      try {
        const file = await open(path, 'w');
        try {
          await file.writeFile(bytes);
          await file.sync();
        } finally {
          await file.close();
        }
      } catch (error) {
        await files.discard(path);
        throw error;
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
          // a nearly full disk may take less than the whole chunk
          await file.writeFile(chunk);
        }
        await file.sync();
        await file.close();
      } catch (error) {
        await file.close().catch(() => undefined);
        await files.discard(path);
        throw error;
      }
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

/** Bytes of a file; null when there is none. */
async function readSize(path: string): Promise<number | null> {
  try {
    return (await stat(path)).size;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}

/** Empties the folder of temporary files: the lock of the data folder says that no other process works on them. */
function sweepTemporary(folder: string): void {
  mkdirSync(folder, { recursive: true });
  for (const left of readdirSync(folder)) rmSync(join(folder, left), { recursive: true, force: true });
}

/** A rename is safe on disk once its folder is synced. Systems that cannot open or sync folders skip this. */
async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null);
  if (!handle) return;
  try {
    await handle.sync();
  } catch (error) {
    if (/^(EIO|ENOSPC|EDQUOT)$/.test((error as NodeJS.ErrnoException).code ?? '')) throw error;
  } finally {
    await handle.close();
  }
}
