import { createHash } from 'node:crypto';
import { buffer } from 'node:stream/consumers';
import { ZipFile } from 'yazl';
import { readZip } from './read-zip.ts';

export type ArchiveFiles = Map<string, Buffer>;

/** Packs files as a zip, in their order. */
export async function packFiles(files: Iterable<readonly [string, Uint8Array]>): Promise<Buffer> {
  const zip = new ZipFile();
  for (const [name, bytes] of files) zip.addBuffer(Buffer.from(bytes), name, { compress: false });
  zip.end();
  return buffer(zip.outputStream as NodeJS.ReadableStream);
}

/** Changes the files of an archive, and states their digests again unless asked not to, as a forger would. */
export async function rewriteArchive(
  archive: Buffer,
  change: (files: ArchiveFiles) => void,
  { digests = true } = {},
): Promise<Buffer> {
  const files = await readZip(archive);
  change(files);
  if (digests) {
    const statement = JSON.parse(files.get('archive.json')!.toString());
    const names = [...files.keys()].filter((name) => name !== 'archive.json');
    statement.files = names.map((path) => {
      const bytes = files.get(path)!;
      return { path, sha256: createHash('sha256').update(bytes).digest('hex'), bytes: bytes.length };
    });
    files.set('archive.json', Buffer.from(JSON.stringify(statement)));
  }
  return packFiles(files);
}

/** Changes the rows of a table in an archive. */
// biome-ignore lint/suspicious/noExplicitAny: rows of any table
export function changeRows(table: string, change: (rows: any[]) => void) {
  return (files: ArchiveFiles): void => {
    const name = `records/${table}.jsonl`;
    const rows = (files.get(name)?.toString() ?? '')
      .split('\n')
      .filter(Boolean)
      .map((line) => JSON.parse(line));
    change(rows);
    files.set(name, Buffer.from(rows.map((row) => `${JSON.stringify(row)}\n`).join('')));
  };
}
