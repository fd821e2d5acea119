import { describe, expect, it } from 'vitest';
import { parseGltf } from '../../../../server/gltf/document/container.ts';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { parseSharedJson, writeSharedJson } from '../../../../server/gltf/document/shared-mappings.ts';

const VARIANTS = 'KHR_materials_variants';
/** Texts that look like what the writer and the reader search for. */
const HOSTILE = [
  '"KHR_materials_variants":{"mappings":[1]}',
  '\\"KHR_materials_variants":{"mappings":"mappings 0"',
  'mappings 0',
  'ends with KHR_materials_variants',
];

const LISTS = [
  [{ material: 0, variants: Array.from({ length: 1000 }, (_, i) => i) }],
  [
    { material: 1, variants: [0, 2] },
    { material: 0, variants: [1], name: 'a ] in “text” \\" ]', extras: { deep: [[1], '['] } },
  ],
  [],
];

/** So many primitives, whose mappings are the lists in turn. */
function makeDocument(primitives: number, more: object = {}): GltfJson {
  return {
    asset: { version: '2.0' },
    materials: HOSTILE.map((name) => ({ name })),
    meshes: [
      {
        name: HOSTILE[0]!,
        primitives: Array.from({ length: primitives }, (_, i) => ({
          attributes: { POSITION: i },
          extensions: { [VARIANTS]: { mappings: LISTS[i % LISTS.length]!, extras: HOSTILE[1] } },
        })),
      },
      { primitives: [{ attributes: {} }] },
    ],
    ...more,
  } as unknown as GltfJson;
}

/** Documents with the key where it means something else, too. */
const DOCUMENTS: readonly [string, GltfJson][] = [
  ['shared lists', makeDocument(9)],
  ['no list twice', makeDocument(3)],
  ['no meshes', { asset: { version: '2.0' } }],
  ['the key in extras', makeDocument(9, { extras: { [VARIANTS]: { mappings: LISTS[0] } } })],
  ['a mark in extras', makeDocument(9, { extras: { [VARIANTS]: { mappings: 'mappings 0' } } })],
  ['a mark of no list', makeDocument(9, { extras: { [VARIANTS]: { mappings: 'mappings 77' } } })],
  ['a number in extras', makeDocument(9, { extras: { [VARIANTS]: { mappings: 1 } } })],
];

describe('documents with lists of mappings that repeat', () => {
  it.each(DOCUMENTS)('have the bytes of the whole JSON, and are read as it: %s', (_, json) => {
    const bytes = writeSharedJson(json);
    expect(bytes.toString('utf8')).toBe(JSON.stringify(json));
    expect(parseSharedJson(bytes, parseGltf)).toEqual(JSON.parse(JSON.stringify(json)));
  });

  it('are parsed one list at a time: what remains for the parser does not grow with the primitives', () => {
    const bytes = writeSharedJson(makeDocument(900));
    let parsed = 0;
    const json = parseSharedJson(bytes, (rest) => {
      parsed += rest.length;
      return parseGltf(rest);
    });
    expect(bytes.length).toBeGreaterThan(1_000_000);
    expect(parsed).toBeLessThan(200_000);
    const lists = json.meshes![0]!.primitives.map(({ extensions }) => extensions![VARIANTS]!.mappings);
    expect(new Set(lists).size).toBe(LISTS.length);
  });

  it('that are damaged are refused as before', () => {
    const bytes = Buffer.from(`{"meshes":[{"primitives":[{"extensions":{"${VARIANTS}":{"mappings":[{"a":[1,2`);
    expect(() => parseSharedJson(bytes, parseGltf)).toThrow(expect.objectContaining({ code: 'model-json' }));
  });
});
