import { Document, NodeIO } from '@gltf-transform/core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createRenderer } from '../../../renderer/create-renderer.ts';
import type { Renderer, StudioFile } from '../../../server/core/ports/renderer.ts';
import { listBrowserProcesses } from '../../support/browser-processes.ts';
import { addSolid, makeCube } from '../../support/make-solid.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from '../built-studio.ts';
import { createModelFolder } from '../models.ts';

/**
 * Finishes with two maps of their own, 2048 px each, and one shared map. Decoded and with mipmaps they need two
 * gigabytes.
 */
const FINISHES = 28;
const MAP_PX = 2048;

describe('a product with many finishes with maps', () => {
  const models = createModelFolder();
  let studioFolder: string;
  let renderer: Renderer;
  let file: StudioFile;
  let browser = 0;

  beforeAll(async () => {
    studioFolder = await buildStudio();
    file = models.write('many', await makeManyFinishes());
    renderer = createRenderer({
      browserPath: findBrowser(),
      studioFolder,
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      log: (_, details) => {
        if (typeof details?.pid === 'number') browser = details.pid;
      },
    });
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    models.remove();
  });

  const wear = async (finish: number) => {
    const { rgba } = await renderer.takeProduct({
      file,
      assignments: [{ mesh: 0, primitive: 0, material: 1 + finish }],
      view: 'three-quarter',
      mount: 'floor',
      widthPx: 48,
      heightPx: 48,
      ground: 'white',
      quality: 'draft',
    });
    return Buffer.from(rgba).toString('base64');
  };
  const readMegabytes = () =>
    listBrowserProcesses(browser).reduce((sum, { residentBytes }) => sum + residentBytes, 0) / 1e6;

  it('takes no more memory for the second half than for the first, and shows each finish as before', async () => {
    const first: string[] = [];
    let half = 0;
    for (let finish = 0; finish < FINISHES; finish++) {
      first.push(await wear(finish));
      if (finish === FINISHES / 2 - 1) half = readMegabytes();
    }
    // Every finish has a colour of its own.
    expect(new Set(first).size).toBe(FINISHES);
    // If all were kept, the second half would take another thousand.
    expect(readMegabytes() - half).toBeLessThan(400);
    // Evicted finishes are read again, including the shared map; kept ones are still complete.
    for (const finish of [0, 1, FINISHES - 1, FINISHES - 2, 5])
      expect((await wear(finish)) === first[finish]).toBe(true);
  });
});

/** A cube; material 0 is its own, the finishes follow. */
async function makeManyFinishes(): Promise<Uint8Array> {
  const document = new Document();
  addSolid(document, 'cube', makeCube(0.4), document.createMaterial('own'));
  const makeImage = async (r: number, g: number, b: number) =>
    new Uint8Array(
      await sharp({ create: { width: MAP_PX, height: MAP_PX, channels: 3, background: { r, g, b } } })
        .png()
        .toBuffer(),
    );
  // Normals that point straight up: glTF 2.0 §3.9.3.
  const shared = document
    .createTexture('shared')
    .setMimeType('image/png')
    .setImage(await makeImage(128, 128, 255));
  for (let finish = 0; finish < FINISHES; finish++) {
    const add = async (name: string, image: Promise<Uint8Array>) =>
      document
        .createTexture(`${name} ${finish}`)
        .setMimeType('image/png')
        .setImage(await image);
    document
      .createMaterial(`finish ${finish}`)
      .setMetallicFactor(0)
      .setNormalTexture(shared)
      .setBaseColorTexture(await add('colour', makeImage(40 + 7 * finish, 120, 230 - 7 * finish)))
      .setMetallicRoughnessTexture(await add('roughness', makeImage(255, 100 + 5 * finish, 0)));
  }
  return new NodeIO().writeBinary(document);
}
