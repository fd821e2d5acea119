import { describe, expect, it } from 'vitest';
import { toUvMap, UNTURNED } from '../../../../server/core/delivery/uv-map.ts';
import type { BakedNormals, NormalBake, NormalLayer } from '../../../../server/gltf/combine-normals.ts';
import { NormalBakes } from '../../../../server/gltf/splice/normal-bakes.ts';

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
function createBakes(bytes: number) {
  const made: NormalBake[] = [];
  const bakes = new NormalBakes(async (bake): Promise<BakedNormals> => {
    made.push(bake);
    await Promise.resolve();
    return { png: new Uint8Array(bytes) };
  });
  return { bakes, made };
}

describe('maps of a part’s and a finish’s normals', () => {
  it('are made once, also when they are asked for at once', async () => {
    const { bakes, made } = createBakes(10);
    const [first, second] = await Promise.all([bakes.bake(pair(layer('a'))), bakes.bake(pair(layer('a')))]);
    expect(first).toBe(second);
    expect(await bakes.bake(pair(layer('a')))).toBe(first);
    expect(made).toHaveLength(1);
  });

  it('are made anew for anything that makes them differ', async () => {
    const { bakes, made } = createBakes(10);
    await bakes.bake(pair(layer('a')));
    await bakes.bake(pair(layer('b')));
    await bakes.bake(pair(layer('a'), layer('grain')));
    await bakes.bake(pair(layer('a', { scale: 0.5 })));
    await bakes.bake(pair(layer('a', { lay: toUvMap({ scale: [2, 2] }) })));
    await bakes.bake({ ...pair(layer('a')), widthPx: 128 });
    expect(made).toHaveLength(6);
  });

  it('make room for others, the one that was not used for longest first', async () => {
    const { bakes, made } = createBakes(50 * 1024 * 1024);
    await bakes.bake(pair(layer('a')));
    await bakes.bake(pair(layer('b')));
    await bakes.bake(pair(layer('a')));
    await bakes.bake(pair(layer('c')));
    expect(made).toHaveLength(3);
    await bakes.bake(pair(layer('a')));
    expect(made).toHaveLength(3);
    await bakes.bake(pair(layer('b')));
    expect(made).toHaveLength(4);
  });

  it('are tried again after a fault', async () => {
    let tries = 0;
    const bakes = new NormalBakes(async () => {
      tries++;
      if (tries === 1) throw new Error('out of memory');
      return { png: new Uint8Array(1) };
    });
    await expect(bakes.bake(pair(layer('a')))).rejects.toThrow('out of memory');
    expect(await bakes.bake(pair(layer('a')))).toEqual({ png: new Uint8Array(1) });
  });
});
