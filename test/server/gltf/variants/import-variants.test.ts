import { describe, expect, it } from 'vitest';
import { readMaterialUse } from '../../../../server/gltf/variants/import-variants.ts';

const primitive = (material: number | undefined, mappings?: unknown) => ({
  attributes: {},
  ...(material !== undefined && { material }),
  ...(mappings !== undefined && { extensions: { KHR_materials_variants: { mappings } } }),
});

function read(primitives: readonly unknown[], variants = 3) {
  const json = { asset: { version: '2.0' }, materials: [{}, {}, {}], meshes: [{ primitives }] };
  return readMaterialUse(
    json as never,
    variants,
    primitives.map((_, at) => ({ mesh: 0, primitive: at })),
  ).map(({ own, byVariant, varies, primitives: places }) => ({
    own,
    byVariant,
    varies,
    primitives: places.map((place) => place.primitive),
  }));
}

// KhronosGroup/glTF, extensions/2.0/Khronos/KHR_materials_variants/README.md: “If no mapping is found for the active
// variant, the primitive's default material is used” (in substance).
describe('what parts wear', () => {
  it('groups parts that wear the same, however it is written', () => {
    const a = primitive(0, [
      { material: 1, variants: [0, 2] },
      { material: 2, variants: [1] },
    ]);
    const b = primitive(0, [
      { material: 2, variants: [1] },
      { material: 1, variants: [2] },
      { material: 1, variants: [0] },
    ]);
    expect(read([a, primitive(0), b])).toEqual([
      { own: 0, byVariant: [1, 2, 1], varies: true, primitives: [0, 2] },
      { own: 0, byVariant: [0, 0, 0], varies: false, primitives: [1] },
    ]);
  });

  it('falls back to the part’s own material, or to none', () => {
    expect(
      read([primitive(0, [{ material: 1, variants: [1] }]), primitive(undefined, [{ material: 1, variants: [0] }])]),
    ).toEqual([
      { own: 0, byVariant: [0, 1, 0], varies: true, primitives: [0] },
      { own: null, byVariant: [1, null, null], varies: true, primitives: [1] },
    ]);
  });

  it.each([
    ['no list', 'nonsense'],
    ['null', null],
    [
      'materials that are not there',
      [
        { material: 9, variants: [0] },
        { material: -1, variants: [0] },
      ],
    ],
    ['variants that are not there', [{ material: 1, variants: [3, -1, 0.5, '1', null] }]],
    ['mappings of no shape', [null, 4, {}, { material: 1 }, { variants: [0] }]],
  ])('reads %s as no mapping', (_, mappings) => {
    expect(read([primitive(0, mappings)])[0]).toMatchObject({ byVariant: [0, 0, 0], varies: false });
  });

  it('lets the first of two mappings count', () => {
    const twice = [
      { material: 1, variants: [0] },
      { material: 2, variants: [0] },
    ];
    expect(read([primitive(0, twice)], 1)[0]!.byVariant).toEqual([1]);
  });
});
