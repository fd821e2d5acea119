import { expect, it } from 'vitest';
import { writeZip, type ZipEntry } from '../../../server/http/send-bytes.ts';
import { readZip } from '../../support/read-zip.ts';

// Read back with yauzl 3 (MIT), which checks sizes against the central directory.

const bytes = (text: string) => new TextEncoder().encode(text);

async function zip(entries: AsyncIterable<ZipEntry> | Iterable<ZipEntry>): Promise<Buffer> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of writeZip(entries)) chunks.push(chunk);
  return Buffer.concat(chunks);
}

const unzip = async (archive: Buffer) =>
  [...(await readZip(archive))].map(([name, content]) => [name, content.toString()]);

it('holds the files under their names, in order, and is the same twice', async () => {
  const entries = [
    { name: 'pictures/Stühle_1.png', bytes: bytes('one') },
    { name: 'empty.txt', bytes: bytes('') },
  ];
  const archive = await zip(entries);
  expect(await unzip(archive)).toEqual([
    ['pictures/Stühle_1.png', 'one'],
    ['empty.txt', ''],
  ]);
  expect((await zip(entries)).equals(archive)).toBe(true);
  expect(await unzip(await zip([]))).toEqual([]);
});

it('writes as the files come', async () => {
  let asked = 0;
  async function* come() {
    for (let i = 0; i < 3; i++) {
      asked++;
      yield { name: `${i}`, bytes: bytes('x') };
    }
  }
  const stream = writeZip(come());
  await stream.next();
  expect(asked).toBe(1);
});

it('fails where a file fails', async () => {
  async function* fail(): AsyncGenerator<ZipEntry> {
    yield { name: 'a', bytes: bytes('a') };
    throw new Error('no picture');
  }
  await expect(zip(fail())).rejects.toThrow('no picture');
});
