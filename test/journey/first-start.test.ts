import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { createService } from '../../server/main.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { lendEngines } from '../support/engines.ts';

// The first start in an empty folder: pictures of the demo are there before anyone asks for them.

let folder: string;
let service: Awaited<ReturnType<typeof createService>>;
let url: string;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-first-'));
  const config = readConfig({
    DYEWORKS_PORT: '0',
    DYEWORKS_DEMO: 'on',
    DYEWORKS_LOG: 'silent',
    DYEWORKS_BROWSER: process.env.DYEWORKS_BROWSER,
    DYEWORKS_SANDBOX: NO_SANDBOX ? 'off' : 'auto',
    DYEWORKS_DATA: folder,
  });
  service = await createService(config, lendEngines());
  url = await service.listen();
  await service.filled;
});

afterAll(async () => {
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

it('takes the pictures of the home page, and those that stand in for the view', async () => {
  const stored = async () => {
    const entries = await readdir(join(folder, 'pictures'), { recursive: true, withFileTypes: true });
    const starts = entries
      .filter((entry) => entry.isFile())
      .map(async ({ parentPath, name }) => (await readFile(join(parentPath, name))).toString('latin1', 8, 12));
    // the layers of pictures are stored beside them
    return (await Promise.all(starts)).filter((start) => start === 'WEBP').length;
  };
  await expect.poll(stored, { timeout: 120_000, interval: 500 }).toBe(4);
  const { products } = (await (await fetch(`${url}/api/products`)).json()) as { products: { picture: string }[] };
  for (const { picture } of products) {
    for (const address of [picture, `${picture}?size=256`]) {
      expect((await fetch(url + address)).headers.get('picture-source')).toBe('stored');
    }
  }
});
