import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { zipSync } from 'fflate';
import { afterAll, describe, expect, it } from 'vitest';
import { ZipFile } from 'yazl';
import { openArchive } from '../../../../server/gltf/receive/read-archive.ts';
import { expectRefusal } from '../../../support/refusal.ts';

// Local file header and central directory: PKWARE APPNOTE 6.3, §4.3.7 and §4.3.12 (field offsets from memory).

const folder = await mkdtemp(join(tmpdir(), 'dyeworks-archive-'));
afterAll(() => rm(folder, { recursive: true, force: true }));
let files = 0;

const LIMITS = { totalBytes: 100_000, files: 10 };

async function open(zip: Uint8Array, limits = LIMITS) {
  const path = join(folder, `${files++}.zip`);
  await writeFile(path, zip);
  return openArchive(path, limits);
}

async function readAll(zip: Uint8Array, limits = LIMITS): Promise<Record<string, string>> {
  const archive = await open(zip, limits);
  try {
    const entries = archive.paths.map(async (path) => [path, (await archive.read(path)).toString()] as const);
    return Object.fromEntries(await Promise.all(entries));
  } finally {
    archive.close();
  }
}

const text = (content: string) => new TextEncoder().encode(content);

/** Makes a zip say that each of its files unpacks to `bytes`. */
function lieAboutSize(zip: Uint8Array, bytes: number): Buffer {
  const copy = Buffer.from(zip);
  for (let at = 0; at + 4 < copy.length; at++) {
    const signature = copy.readUInt32LE(at);
    if (signature === 0x04034b50) copy.writeUInt32LE(bytes, at + 22);
    if (signature === 0x02014b50) copy.writeUInt32LE(bytes, at + 24);
  }
  return copy;
}

describe('a zip', () => {
  it('is listed and read, folders left out', async () => {
    expect(await readAll(zipSync({ 'a.gltf': text('A'), maps: { 'b.png': text('B') }, 'ö.bin': text('C') }))).toEqual({
      'a.gltf': 'A',
      'maps/b.png': 'B',
      'ö.bin': 'C',
    });
  });

  // APPNOTE 6.3, §4.3.7, §4.3.12 and §4.4.7; fflate's own reader does not look at it either
  it.each([0, 6])('is refused where the bytes of a file do not agree with their CRC-32 (level %i)', async (level) => {
    const content = { 'a.gltf': text('A'), 'b.bin': text('whole bytes that are not what was packed') };
    const zip = Buffer.from(zipSync(content, { level: level as 0 | 6 }));
    expect(Object.keys(await readAll(zip))).toEqual(['a.gltf', 'b.bin']);
    for (let at = 0; at + 46 < zip.length; at++) {
      if (zip.readUInt32LE(at) === 0x02014b50 && zip.toString('latin1', at + 46, at + 51) === 'b.bin')
        zip[at + 16]! ^= 1;
    }
    const archive = await open(zip);
    expect((await archive.read('a.gltf')).toString()).toBe('A');
    await expectRefusal(() => archive.read('b.bin'), 'archive-unreadable');
    archive.close();
  });

  it.each(['../escape.bin', 'maps/../../escape.bin', '/etc/escape', 'C:/escape', 'maps\\..\\..\\escape', '..'])(
    'is refused with the path %j',
    async (path) => {
      await expectRefusal(() => readAll(zipSync({ 'a.gltf': text('A'), [path]: text('B') })), 'archive-path');
    },
  );

  it('is refused when it says that it unpacks to more than the limit', async () => {
    const bomb = zipSync({ 'a.gltf': new Uint8Array(1_000_000) });
    expect(bomb.length).toBeLessThan(5_000);
    await expectRefusal(() => open(bomb), 'archive-too-large');
  });

  it('is refused when it says little and unpacks to much', async () => {
    const bomb = lieAboutSize(zipSync({ 'a.gltf': new Uint8Array(10_000_000) }), 50);
    const archive = await open(bomb);
    await expectRefusal(() => archive.read('a.gltf'), 'archive-too-large', 'archive-unreadable');
    archive.close();
  });

  it('is refused when many small files add up', async () => {
    const parts = Object.fromEntries(Array.from({ length: 5 }, (_, i) => [`${i}.bin`, new Uint8Array(30_000)]));
    await expectRefusal(() => readAll(zipSync(parts)), 'archive-too-large');
    expect(Object.keys(await readAll(zipSync(parts), { totalBytes: 150_000, files: 10 }))).toHaveLength(5);
  });

  it('is refused with more files than the limit', async () => {
    const parts = (n: number) => Object.fromEntries(Array.from({ length: n }, (_, i) => [`${i}.bin`, text('x')]));
    expect((await open(zipSync(parts(10)))).paths).toHaveLength(10);
    await expectRefusal(() => open(zipSync(parts(11))), 'archive-too-large');
  });

  it.each([
    ['nothing', new Uint8Array()],
    ['no zip', text('no zip at all, though long enough to hold an end of a directory')],
    ['half a zip', zipSync({ 'a.gltf': text('A'.repeat(1000)) }).subarray(0, 60)],
  ])('is refused: %s', async (_, bytes) => {
    await expectRefusal(() => open(bytes), 'archive-unreadable');
  });

  it('is refused where its bytes are damaged', async () => {
    const zip = Buffer.from(zipSync({ 'a.gltf': text(JSON.stringify(Array.from({ length: 400 }, (_, i) => i * i))) }));
    zip.fill(0xff, 60, 120);
    await expectRefusal(() => readAll(zip), 'archive-unreadable');
  });

  // central directory: APPNOTE 6.3, §4.3.12; a file's entry begins at the signature that precedes its name by 46 bytes
  it.each<[string, (zip: Buffer, at: number) => void]>([
    ['one name twice', (zip, at) => zip.write('a.bin', at + 46)],
    ['a file that shares bytes with another', (zip, at) => zip.writeUInt32LE(0, at + 42)],
    ['an encrypted file', (zip, at) => zip.writeUInt16LE(zip.readUInt16LE(at + 8) | 1, at + 8)],
    [
      'a symbolic link',
      (zip, at) => {
        zip.writeUInt16LE((3 << 8) | 20, at + 4);
        zip.writeUInt32LE((0o120777 << 16) >>> 0, at + 38);
      },
    ],
  ])('is refused: %s', async (_, change) => {
    const zip = Buffer.from(zipSync({ 'a.bin': text('A'.repeat(200)), 'b.bin': text('B'.repeat(200)) }, { level: 0 }));
    const name = zip.lastIndexOf('b.bin');
    change(zip, name - 46);
    await expectRefusal(() => open(zip), 'archive-unreadable');
  });

  it('is refused when it unpacks to far more than its size, even below the limit', async () => {
    const limits = { totalBytes: 10_000_000, files: 10, ratio: 20, freeBytes: 50_000 };
    const bomb = zipSync({ 'a.bin': new Uint8Array(1_000_000) });
    await expectRefusal(() => open(bomb, limits), 'archive-too-large');
    const lying = await open(lieAboutSize(bomb, 50), limits);
    await expectRefusal(() => lying.read('a.bin'), 'archive-too-large', 'archive-unreadable');
    lying.close();
    expect(Object.keys(await readAll(zipSync({ 'a.bin': new Uint8Array(40_000) }), limits))).toEqual(['a.bin']);
  });

  it('is refused with more folders than anyone needs', async () => {
    const folders = Object.fromEntries(Array.from({ length: 41 }, (_, i) => [`${i}/`, new Uint8Array()]));
    await expectRefusal(() => open(zipSync(folders)), 'archive-too-large');
  });

  it.each([false, true])(
    'is read with data descriptors (zip64: %s), and another zip in it stays packed',
    async (zip64) => {
      const zip = new ZipFile();
      const inner = zipSync({ '../x': text('X') });
      zip.addReadStream(Readable.from([Buffer.from('A'.repeat(300))]), 'a.gltf', { forceZip64Format: zip64 });
      zip.addBuffer(Buffer.from(inner), 'inner.zip', { forceZip64Format: zip64 });
      zip.end({ forceZip64Format: zip64, comment: '' });
      const chunks: Buffer[] = [];
      for await (const chunk of zip.outputStream) chunks.push(chunk as Buffer);
      const archive = await open(Buffer.concat(chunks));
      expect((await archive.read('a.gltf')).toString()).toBe('A'.repeat(300));
      expect(new Uint8Array(await archive.read('inner.zip'))).toEqual(inner);
      archive.close();
    },
  );

  it('is refused for a file it does not hold', async () => {
    const archive = await open(zipSync({ 'a.gltf': text('A') }));
    await expectRefusal(() => archive.read('b.bin'), 'archive-missing-file');
    archive.close();
  });
});
