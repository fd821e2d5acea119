import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createFiles } from '../../db/create-files.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-files-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

// SHA-256 of “abc”: FIPS 180-4, the standard's own example
const ABC = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

it('stores bytes under their SHA-256, once', async () => {
  const files = createFiles(folder);
  expect(await files.putBytes(Buffer.from('abc'))).toEqual({ sha256: ABC, bytes: 3 });
  expect(await files.putBytes(Buffer.from('abc'))).toEqual({ sha256: ABC, bytes: 3 });
  expect(Buffer.from(await files.read(ABC)).toString()).toBe('abc');
  expect(await files.digest(files.getPath(ABC))).toBe(ABC);
});

it('a stream over the limit, or one that breaks off, leaves nothing behind', async () => {
  const files = createFiles(folder);
  const left = () =>
    readdirSync(join(folder, 'temporary'), { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
  async function* long() {
    for (let i = 0; i < 10; i++) yield new Uint8Array(100);
  }
  await expect(files.takeStream(long(), 500)).rejects.toMatchObject({ code: 'body-too-large' });
  async function* broken() {
    yield new Uint8Array(100);
    throw new Error('the line went dead');
  }
  await expect(files.takeStream(broken(), 500)).rejects.toThrow('dead');
  expect(left()).toEqual([]);
});
