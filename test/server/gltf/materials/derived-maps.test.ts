import { describe, expect, it } from 'vitest';
import { toUvMap, UNTURNED } from '../../../../server/core/delivery/repeat-transform.ts';
import { DerivedMaps } from '../../../../server/gltf/materials/derived-maps.ts';
import type { NormalBake, NormalLayer } from '../../../../server/images/combine-normals.ts';
import type { Remake } from '../../../../server/images/remake-map.ts';

const layer = (image: string, more: Partial<NormalLayer> = {}): NormalLayer => ({
  image: Buffer.from(image),
  lay: toUvMap(),
  turn: UNTURNED,
  scale: 1,
  wrap: ['repeat', 'repeat'],
  ...more,
});
const pair = (base: NormalLayer, detail = layer('weave')): NormalBake => ({
  base,
  detail,
  widthPx: 64,
  heightPx: 64,
});

/** Maps that are made by nobody, each of so many bytes. */
function createMaps(bytes: number) {
  const combined: NormalBake[] = [];
  const remade: Remake[] = [];
  const maps = new DerivedMaps({
    async combine(bake) {
      combined.push(bake);
      await Promise.resolve();
      return { png: new Uint8Array(bytes) };
    },
    async remake(_, remake) {
      remade.push(remake);
      await Promise.resolve();
      return remake === 'alpha-under-white' ? null : new Uint8Array(bytes);
    },
    level: async () => ({ bytes: new Uint8Array(bytes), mimeType: 'image/png' }),
  });
  return { maps, combined, remade };
}

describe('maps of a part’s and a finish’s normals', () => {
  it('are made once, also when they are asked for at once', async () => {
    const { maps, combined } = createMaps(10);
    const [first, second] = await Promise.all([maps.combine(pair(layer('a'))), maps.combine(pair(layer('a')))]);
    expect(first).toBe(second);
    expect(await maps.combine(pair(layer('a')))).toBe(first);
    expect(combined).toHaveLength(1);
  });

  it('are made anew for anything that makes them differ', async () => {
    const { maps, combined } = createMaps(10);
    await maps.combine(pair(layer('a')));
    await maps.combine(pair(layer('b')));
    await maps.combine(pair(layer('a'), layer('grain')));
    await maps.combine(pair(layer('a', { scale: 0.5 })));
    await maps.combine(pair(layer('a', { lay: toUvMap({ scale: [2, 2] }) })));
    await maps.combine({ ...pair(layer('a')), widthPx: 128 });
    expect(combined).toHaveLength(6);
  });

  it('make room for others, the one that was not used for longest first', async () => {
    const { maps, combined } = createMaps(50 * 1024 * 1024);
    await maps.combine(pair(layer('a')));
    await maps.combine(pair(layer('b')));
    await maps.combine(pair(layer('a')));
    await maps.combine(pair(layer('c')));
    expect(combined).toHaveLength(3);
    await maps.combine(pair(layer('a')));
    expect(combined).toHaveLength(3);
    await maps.combine(pair(layer('b')));
    expect(combined).toHaveLength(4);
  });

  it('are tried again after a fault', async () => {
    let tries = 0;
    const maps = new DerivedMaps({
      async combine() {
        tries++;
        if (tries === 1) throw new Error('out of memory');
        return { png: new Uint8Array(1) };
      },
      remake: async () => null,
      level: async () => ({ bytes: new Uint8Array(1), mimeType: 'image/png' }),
    });
    await expect(maps.combine(pair(layer('a')))).rejects.toThrow('out of memory');
    expect(await maps.combine(pair(layer('a')))).toEqual({ png: new Uint8Array(1) });
  });
});

describe('remade maps', () => {
  const image = (text: string) => ({ bytes: Buffer.from(text) });

  it('are made once for an image and a way, whoever hands the image over', async () => {
    const { maps, remade } = createMaps(10);
    // FIPS 180-4 (SHA-256), example “abc”
    const sha256 = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';
    const first = await maps.remake({ ...image('abc'), sha256 }, 'for-metal');
    expect(await maps.remake(image('abc'), 'for-metal')).toBe(first);
    expect(remade).toEqual(['for-metal']);
    await maps.remake(image('abc'), 'eight-bit');
    await maps.remake(image('abc'), UNTURNED);
    await maps.remake(image('abd'), 'for-metal');
    expect(remade).toEqual(['for-metal', 'eight-bit', UNTURNED, 'for-metal']);
  });

  it('are remembered too when there is nothing to make', async () => {
    const { maps, remade } = createMaps(10);
    expect(await maps.remake(image('opaque'), 'alpha-under-white')).toBeNull();
    expect(await maps.remake(image('opaque'), 'alpha-under-white')).toBeNull();
    expect(remade).toHaveLength(1);
  });
});
