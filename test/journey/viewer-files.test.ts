import { EXTMeshoptCompression, KHRDracoMeshCompression, KHRTextureBasisu } from '@gltf-transform/extensions';
import type { Browser } from 'puppeteer-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createIo } from '../support/gltf-io.ts';
import { KTX2 } from '../support/ktx2.ts';
import { createStool } from '../support/model-with-variants.ts';
import { openGlBrowser } from '../support/open-view.ts';
import { openShop, SELF, type Shop } from '../support/shop-page.ts';

// Files of another exporter, @gltf-transform 4, in the viewer: plain, and with Draco, meshopt and KTX2. Its policy is
// `default-src 'self'`, under which a browser refuses WebAssembly and workers from `blob:` (Content Security Policy Level 3).

const WITH_WASM = `${SELF}; script-src 'self' 'wasm-unsafe-eval'`;
const NAMES = ['Blue / oak', 'Rust / smoked', 'Rust / oak'];

let browser: Browser;
let shop: Shop;
beforeAll(async () => {
  const plain = await standApart(await createStool(NAMES));
  browser = await openGlBrowser();
  shop = await openShop(browser, {
    '/plain.glb': plain,
    '/draco.glb': await compress(plain, KHRDracoMeshCompression),
    '/meshopt.glb': await compress(plain, EXTMeshoptCompression),
    '/ktx2.glb': await useKtx2(plain),
  });
});
afterAll(async () => {
  await shop?.close();
  await browser?.close();
});

/** Stands the parts of a file side by side, and tells its two woods apart. */
async function standApart(glb: Uint8Array): Promise<Uint8Array> {
  const io = await createIo();
  const document = await io.readBinary(glb);
  for (const [at, node] of document.getRoot().listNodes().entries()) {
    node.setTranslation([at * 0.5, 0, 0]).setRotation([Math.SQRT1_2, 0, 0, Math.SQRT1_2]);
  }
  for (const material of document.getRoot().listMaterials()) {
    if (material.getName() === 'Smoked oak') material.setBaseColorFactor([0.1, 0.05, 0.02, 1]);
  }
  return io.writeBinary(document);
}

async function compress(
  glb: Uint8Array,
  extension: typeof KHRDracoMeshCompression | typeof EXTMeshoptCompression,
): Promise<Uint8Array> {
  const io = await createIo();
  const document = await io.readBinary(glb);
  document.createExtension(extension as typeof KHRDracoMeshCompression).setRequired(true);
  return io.writeBinary(document);
}

async function useKtx2(glb: Uint8Array): Promise<Uint8Array> {
  const io = await createIo();
  const document = await io.readBinary(glb);
  for (const texture of document.getRoot().listTextures()) texture.setImage(KTX2.uastc).setMimeType('image/ktx2');
  document.createExtension(KHRTextureBasisu).setRequired(true);
  return io.writeBinary(document);
}

const decoders = () => shop.asked.filter((path) => /(?:draco|basis|meshopt|KTX2)\S*\.(?:js|wasm)$/i.test(path));
const means = async () => (await sharp(await shop.shoot()).stats()).channels.map(({ mean }) => mean);

describe('a file of another exporter', () => {
  it('shows each of its variants', { timeout: 120_000 }, async () => {
    await shop.show('src="/plain.glb"');
    await shop.hear('load');
    expect(await shop.read(({ variants }) => variants.map(({ name }) => name))).toEqual(NAMES);
    let before = [0, 0, 0];
    for (const name of NAMES) {
      await shop.take(name);
      expect(await shop.read(({ variant }) => variant)).toBe(name);
      const last = before;
      await expect
        .poll(
          async () => {
            before = await means();
            return before.some((mean, at) => Math.abs(mean - last[at]!) > 0.3);
          },
          { timeout: 60_000 },
        )
        .toBe(true);
    }
    expect(decoders()).toEqual([]);
    expect(shop.faults).toEqual([]);
  });
});

describe.each(['draco', 'meshopt'])('geometry in %s', (name) => {
  it.each([
    ['without WebAssembly', SELF],
    ['with WebAssembly', WITH_WASM],
  ])('is shown under the policy, %s', { timeout: 120_000 }, async (_, policy) => {
    await shop.show('src="/plain.glb"', { policy });
    await shop.hear('load');
    const plain = await means();
    await shop.show(`src="/${name}.glb"`, { policy });
    await shop.hear('load');
    expect(shop.faults.filter((fault) => !/WebAssembly/.test(fault))).toEqual([]);
    await expect
      .poll(async () => Math.max(...(await means()).map((mean, at) => Math.abs(mean - plain[at]!))), {
        timeout: 60_000,
      })
      .toBeLessThan(1.5);
    expect(decoders().length).toBeGreaterThan(0);
    expect(decoders().every((path) => path.startsWith('/viewer/'))).toBe(true);
    expect(decoders().some((path) => /KTX2|basis/.test(path))).toBe(false);
  });
});

describe('textures in KTX2', () => {
  it('are shown where the policy allows WebAssembly', { timeout: 120_000 }, async () => {
    await shop.show('src="/ktx2.glb"', { policy: WITH_WASM });
    await shop.hear('load');
    expect(shop.faults).toEqual([]);
    expect(decoders()).toContain('/viewer/basis-worker.js');
    expect(decoders().some((path) => /draco|meshopt/.test(path))).toBe(false);
  });

  it('are refused elsewhere, with the word that the policy needs', async () => {
    await shop.show('src="/ktx2.glb"');
    expect(await shop.hear('error')).toEqual([{ message: "script-src 'wasm-unsafe-eval'" }]);
    expect(await shop.read((element) => element.shadowRoot!.querySelector('.note')!.textContent)).toContain(
      'wasm-unsafe-eval',
    );
  });
});
