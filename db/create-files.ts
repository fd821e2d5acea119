import { createHash, randomUUID } from 'node:crypto';
import { createReadStream, mkdirSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { access, mkdir, open, readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Files } from '../server/core/ports/stores.ts';
import { Problem } from '../server/core/problems.ts';
import { ignoreStorageFault } from '../server/core/storage-faults.ts';
import { REQUEST_PROBLEMS } from '../server/core/texts/problems/request.ts';

/** The files, and what only their sweep needs. */
export interface ContentFiles extends Files {
  /** Digests of all stored files, some hundred at a time. */
  list(): AsyncGenerator<readonly string[]>;
  /**
   * Deletes a file, unless someone stored it or asked for it since a time (ms as of `Date.now`).
   * @returns its bytes; null when it is kept or missing
   */
  removeUnused(sha256: string, since: number): Promise<number | null>;
}

/** Name of a content file. */
export const DIGEST = /^[0-9a-f]{64}$/;

/** Names in the folder of content files, one of its 256 folders at a time. */
export async function* listContent(folder: string): AsyncGenerator<readonly string[]> {
  for (const entry of await readdir(folder, { withFileTypes: true })) {
    if (entry.isDirectory() && /^[0-9a-f]{2}$/.test(entry.name)) yield await readdir(join(folder, entry.name));
  }
}

/**
 * Files in a folder under their SHA-256, spread over 256 folders. Temporary files are beside them on the same disk, so
 * adopting one is a rename. A later start deletes what a crash left behind.
 */
export function createFiles(folder: string): ContentFiles {
  const temporary = join(folder, 'temporary');
  sweepTemporary(temporary);

  const getPath = (sha256: string) => join(folder, sha256.slice(0, 2), sha256);

  /**
   * When files were last stored or asked for, ms. What a request stored becomes referred to a moment later, so the sweep
   * leaves it alone. One process writes, so its memory is enough.
   */
  const lately = new Map<string, number>();
  const ask = (sha256: string) => void lately.set(sha256, Date.now());

  const files: ContentFiles = {
    getPath,

    async *list() {
      for await (const names of listContent(folder)) yield names.filter((name) => DIGEST.test(name));
    },

    async removeUnused(sha256, since) {
      for (const [known, at] of lately) if (at < since) lately.delete(known);
      if (lately.has(sha256)) return null;
      const aside = join(temporary, randomUUID());
      try {
        // in the same turn: nobody asks in between
        renameSync(getPath(sha256), aside);
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
        throw error;
      }
      const { size } = await stat(aside);
      await rm(aside);
      return size;
    },

    newTemporary: async () => join(temporary, randomUUID()),

    // what the disk does not delete now, the next start does
    discard: (path) => rm(path, { force: true }).catch(ignoreStorageFault),

    async adopt(path, sha256) {
      ask(sha256);
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
      ask(sha256);
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

    digest: digestFile,

    read: (sha256) => readFile(getPath(sha256)),

    has(sha256) {
      ask(sha256);
      return access(getPath(sha256)).then(
        () => true,
        () => false,
      );
    },
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

/** The SHA-256 of a file, lower-case hex. */
export async function digestFile(path: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
  return hash.digest('hex');
}
