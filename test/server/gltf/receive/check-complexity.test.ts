import { describe, expect, it } from 'vitest';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { checkComplexity } from '../../../../server/gltf/receive/check-complexity.ts';
import { triangleJson } from '../../../support/bad-models.ts';

const many = <T>(count: number, item: T): T[] => new Array<T>(count).fill(item);
const refuse = (more: Record<string, unknown>) => () => checkComplexity(triangleJson(more) as unknown as GltfJson);
const PRIMITIVE = { attributes: { POSITION: 0 } };
const accessor = (count: number, more = {}) => ({ bufferView: 0, componentType: 5126, count, type: 'VEC3', ...more });

// The counts come from lists of one object, so that the test itself is cheap.
describe('a model too complex for a thread is refused by its JSON', () => {
  it.each<[string, Record<string, unknown>]>([
    ['nodes', { nodes: many(2_000_001, {}) }],
    ['materials', { materials: many(20_001, {}) }],
    ['images', { images: many(10_001, {}) }],
    ['accessors', { accessors: many(1_000_001, {}) }],
    ['primitives', { meshes: [{ primitives: many(400_001, PRIMITIVE) }] }],
    ['draws', { meshes: [{ primitives: many(1001, PRIMITIVE) }], nodes: many(1000, { mesh: 0 }) }],
    ['morph targets', { meshes: [{ primitives: many(2001, { ...PRIMITIVE, targets: many(100, {}) }) }] }],
    ['channels', { animations: many(1001, { channels: many(1000, {}) }) }],
    ['joints', { skins: many(1001, { joints: many(1000, 0) }) }],
    ['extension names', { extensionsUsed: many(10_001, 'ACME_x') }],
    [
      'copies of a large mesh',
      {
        bufferViews: [{ buffer: 0, byteLength: 2 ** 30 }],
        accessors: [accessor(1_000_000)],
        nodes: many(65, { mesh: 0 }),
      },
    ],
    [
      'many readings of the same bytes',
      {
        bufferViews: [{ buffer: 0, byteLength: 2 ** 30 }],
        accessors: many(1000, accessor(1_000_000, { componentType: 5122 })),
        meshes: [{ primitives: Array.from({ length: 1000 }, (_, i) => ({ attributes: { NORMAL: i } })) }],
      },
    ],
    [
      'zeros of sparse accessors',
      {
        accessors: many(100, { componentType: 5126, count: 60_000_000, type: 'SCALAR', sparse: {} }),
        meshes: [{ primitives: Array.from({ length: 100 }, (_, i) => ({ attributes: { NORMAL: i } })) }],
      },
    ],
    [
      'compressed views of terabytes',
      { bufferViews: [{ buffer: 1, byteLength: 2 ** 42, extensions: { EXT_meshopt_compression: {} } }] },
    ],
  ])('%s', (_, more) => {
    expect(refuse(more)).toThrow(expect.objectContaining({ code: 'model-too-complex' }));
  });

  it('JSON of any shape passes, since its structure is checked later', () => {
    for (const value of [null, 3, 'x', {}, [null], [[]], [{ primitives: 3 }], [{ channels: {} }]]) {
      for (const key of ['nodes', 'meshes', 'accessors', 'bufferViews', 'animations', 'skins', 'extensionsUsed'])
        expect(refuse({ [key]: value })).not.toThrow();
    }
  });
});
