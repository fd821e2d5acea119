import { execFileSync } from 'node:child_process';
import { createWriteStream, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { crc32 } from 'node:zlib';
import { expect, it } from 'vitest';
import { type StoredEntry, writeStoredZip } from '../../../server/http/stored-zip.ts';

// PKWARE APPNOTE 6.3.10. Readers of others: Info-ZIP's unzip, and the zipfile module of Python where there is one.

async function* make(entries: Iterable<StoredEntry>) {
  yield* entries;
}
const entryOf = (name: string, text: string): StoredEntry => {
  const bytes = Buffer.from(text);
  return { name, bytes: bytes.length, crc32: crc32(bytes), open: () => [bytes] };
};
const hasPython = (() => {
  try {
    execFileSync('python3', ['-c', 'import zipfile']);
    return true;
  } catch {
    return false;
  }
})();

it.each([
  ['no file', []],
  ['names in any script', [entryOf('Möbel/椅子 & “x”.glb', 'one'), entryOf('empty', '')]],
  // the short fields count to 65,535 (4.3.16)
  ['more files than the short fields can count', Array.from({ length: 66_000 }, (_, at) => entryOf(`${at}`, 'x'))],
] as const)('%s: other programs read it', async (_, entries) => {
  const folder = mkdtempSync(join(tmpdir(), 'dyeworks-zip-'));
  try {
    const path = join(folder, 'a.zip');
    await pipeline(Readable.from(writeStoredZip(make(entries))), createWriteStream(path));
    if (entries.length > 0) {
      execFileSync('unzip', ['-tqq', path]);
      const names = execFileSync('unzip', ['-Z1', path], {
        encoding: 'utf8',
        maxBuffer: 1e8,
        env: { ...process.env, LC_ALL: 'C.UTF-8' },
      });
      expect(names.trim().split('\n')).toEqual(entries.map(({ name }) => name));
    }
    if (hasPython) {
      const code =
        'import zipfile,sys; z=zipfile.ZipFile(sys.argv[1]); assert z.testzip() is None; print(len(z.namelist()))';
      expect(execFileSync('python3', ['-c', code, path], { encoding: 'utf8' }).trim()).toBe(String(entries.length));
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});

it('a file of more than 4 GiB, and one that begins after 4 GiB, have Zip64 fields (4.5.3)', async () => {
  const block = Buffer.alloc(64 * 1024 * 1024);
  const blocks = 65;
  const long: StoredEntry = {
    name: 'long',
    bytes: block.length * blocks,
    crc32: 7,
    open: () => Array.from({ length: blocks }, () => block),
  };
  const small: Buffer[] = [];
  for await (const chunk of writeStoredZip(make([long, entryOf('after', 'end')]))) {
    if (chunk !== block) small.push(Buffer.from(chunk));
  }
  const [local, , , first, second, end] = small as [Buffer, Buffer, Buffer, Buffer, Buffer, Buffer];
  expect([local.readUInt32LE(18), local.readUInt32LE(22), local.readUInt16LE(4)]).toEqual([0xffffffff, 0xffffffff, 45]);
  expect([local.readBigUInt64LE(38), local.readBigUInt64LE(46)]).toEqual([BigInt(long.bytes), BigInt(long.bytes)]);
  expect(first.readBigUInt64LE(46 + 4 + 4)).toBe(BigInt(long.bytes));
  const begin = BigInt(local.length + long.bytes);
  expect(second.readUInt32LE(42)).toBe(0xffffffff);
  expect(second.readBigUInt64LE(46 + 5 + 4)).toBe(begin);
  expect(end.readUInt32LE(0)).toBe(0x06064b50);
  expect(end.readBigUInt64LE(48)).toBe(begin + BigInt(30 + 5 + 3));
});

it('a file that is shorter than it was ends the zip with an error', async () => {
  const entry = { ...entryOf('a', 'abc'), open: () => [Buffer.from('ab')] };
  await expect(async () => {
    for await (const _ of writeStoredZip(make([entry])));
  }).rejects.toThrow('2 bytes instead of 3');
});
