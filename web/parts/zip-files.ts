import { Zip, ZipPassThrough } from 'fflate';
import type { DroppedFile } from './dropped-files.ts';

/** Zips files without compressing them, since images and geometry hardly get smaller. Holds one chunk at a time in memory. */
export async function zipFiles(files: readonly DroppedFile[]): Promise<Blob> {
  const parts: Blob[] = [];
  let failure: Error | null = null;
  const zip = new Zip((error, chunk) => {
    if (error) failure = error;
    else parts.push(new Blob([chunk as Uint8Array<ArrayBuffer>]));
  });
  for (const { path, file } of files) {
    const entry = new ZipPassThrough(path);
    zip.add(entry);
    const reader = file.stream().getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      entry.push(value);
      if (failure) throw failure;
    }
    entry.push(new Uint8Array(), true);
  }
  zip.end();
  if (failure) throw failure;
  return new Blob(parts, { type: 'application/zip' });
}
