import { Document, type Material } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import { quantize } from '@gltf-transform/functions';
import { BufferAttribute, BufferGeometry, DataTexture, Mesh, MeshStandardMaterial, RepeatWrapping, Scene } from 'three';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addTexture } from '../../../support/build-model.ts';
import { exportInThree } from '../../../support/export-in-three.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { runGltfpack } from '../../../support/gltfpack.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { addSolid, makeGrid, type Solid } from '../../../support/make-solid.ts';
import { measureRepeats, type Vector } from '../../../support/measure-repeats.ts';
import { createSplicer } from '../../../support/splice.ts';

const splicer = createSplicer();
afterAll(() => splicer.close());

type Uv = readonly [number, number];

/** A panel of 1 × 0.5 m that faces front; UVs by metres right and metres down from its upper left corner. */
function makePanel(toUv: (right: number, down: number) => Uv, shift = 0): Solid {
  const grid = makeGrid(2, 4, (u, v) => [u + shift, 0.5 - v * 0.5, 0]);
  const uvs = grid.uvs.map((_, i) => {
    const vertex = i >> 1;
    return toUv(grid.positions[vertex * 3]! - shift, 0.5 - grid.positions[vertex * 3 + 1]!)[i % 2]!;
  });
  // makeGrid winds rows upwards, and these run down
  const indices = grid.indices.map((_, i) => grid.indices[i % 3 === 0 ? i : i % 3 === 1 ? i + 1 : i - 1]!);
  return { ...grid, uvs, indices };
}

const METRES = (right: number, down: number): Uv => [right, down];
const ONCE = (right: number, down: number): Uv => [right, down / 0.5];

interface Lay {
  readonly scale?: [number, number];
  readonly offset?: [number, number];
  readonly rotation?: number;
  readonly texCoord?: number;
}

/** A model of the panel in a textured material, its map laid so. */
async function makeModel(
  solids: readonly Solid[],
  lay: Lay = {},
  change: (document: Document) => unknown = () => null,
) {
  const document = new Document();
  const material = document.createMaterial('part');
  material.setBaseColorTexture(await addTexture(document, 'own', 5, 8));
  solids.forEach((solid, index) => {
    addSolid(document, `panel ${index}`, solid, material);
  });
  layMap(document, material, lay);
  await change(document);
  return (await createIo()).writeBinary(document);
}

function layMap(document: Document, material: Material, { scale, offset, rotation, texCoord }: Lay): void {
  if (!scale && !offset && rotation === undefined && texCoord === undefined) return;
  const transform = document.createExtension(KHRTextureTransform).createTransform();
  if (scale) transform.setScale(scale);
  if (offset) transform.setOffset(offset);
  if (rotation !== undefined) transform.setRotation(rotation);
  if (texCoord !== undefined) transform.setTexCoord(texCoord);
  material.getBaseColorTextureInfo()!.setExtension('KHR_texture_transform', transform);
}

/** Moves the UVs into another set, and puts UVs of another size and direction in their place. */
function useSecondSet(document: Document): void {
  for (const primitive of document.getRoot().listMeshes()[0]!.listPrimitives()) {
    const uvs = primitive.getAttribute('TEXCOORD_0')!;
    const odd = document.createAccessor().setType('VEC2').setBuffer(document.getRoot().listBuffers()[0]!);
    const array = uvs.getArray()!;
    odd.setArray(new Float32Array(array.length).map((_, i) => 3.7 * array[i ^ 1]!));
    primitive.setAttribute('TEXCOORD_0', odd).setAttribute('TEXCOORD_1', uvs);
  }
}

async function makeInThree(repeat: Uv, rotation = 0): Promise<Uint8Array> {
  const { positions, uvs, indices } = makePanel(ONCE);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(positions, 3));
  geometry.setAttribute('uv', new BufferAttribute(uvs, 2));
  geometry.setIndex(new BufferAttribute(indices, 1));
  geometry.computeVertexNormals();
  const map = new DataTexture(new Uint8Array(4 * 4 * 4).fill(128), 4, 4);
  map.wrapS = map.wrapT = RepeatWrapping;
  map.repeat.set(...repeat);
  map.rotation = rotation;
  const material = new MeshStandardMaterial({ map });
  material.name = 'part';
  const scene = new Scene();
  scene.add(new Mesh(geometry, material));
  return exportInThree(scene);
}

const QUARTER = Math.PI / 2;
const plain = (lay?: Lay) => makeModel([makePanel(ONCE)], lay);

const PANELS: readonly (readonly [string, () => Promise<Uint8Array>])[] = [
  ['UVs in metres', () => makeModel([makePanel(METRES)])],
  ['UVs once over it', () => plain()],
  ['glTF-Transform’s quantize', () => makeModel([makePanel(ONCE)], {}, (document) => document.transform(quantize()))],
  ['gltfpack', async () => runGltfpack(await plain())],
  ['gltfpack -cc', async () => runGltfpack(await plain(), '-cc')],
  ['gltfpack, tiled', async () => runGltfpack(await plain({ scale: [4, 2], offset: [0.3, 0.1] }))],
  ['gltfpack, of metres', async () => runGltfpack(await makeModel([makePanel((x, y) => [3 * x - 1, 3 * y + 2])]))],
  ['three.js’ exporter', () => makeInThree([1, 1])],
  ['three.js’ exporter, with repeats', () => makeInThree([3, 2])],
  ['three.js’ exporter, turned', () => makeInThree([2, 2], QUARTER)],
  ['a map mirrored across', () => plain({ scale: [-1, 1], offset: [1, 0] })],
  ['a map on its head', () => plain({ scale: [1, -1], offset: [0, 1] })],
  ['a map turned by half', () => plain({ scale: [-2, -1] })],
  ['a map turned by a quarter', () => plain({ rotation: QUARTER })],
  ['a map turned back by a quarter and mirrored', () => plain({ rotation: -QUARTER, scale: [-3, 2] })],
  ['UVs laid across', () => makeModel([makePanel((x, y) => [y / 0.5, 1 - x])])],
  ['UVs laid mirrored', () => makeModel([makePanel((x, y) => [1 - x, y / 0.5])])],
  ['a second set of UVs', () => makeModel([makePanel(ONCE)], { texCoord: 1 }, useSecondSet)],
  [
    'a second set of UVs by the map’s own texCoord',
    () =>
      makeModel([makePanel(ONCE)], {}, (document) => {
        useSecondSet(document);
        document.getRoot().listMaterials()[0]!.getBaseColorTextureInfo()!.setTexCoord(1);
      }),
  ],
  [
    'a second set of UVs, by gltfpack',
    async () => runGltfpack(await makeModel([makePanel(ONCE)], { texCoord: 1 }, useSecondSet)),
  ],
  [
    'a node that stretches it',
    () =>
      makeModel([makePanel(METRES)], {}, (document) => {
        document.getRoot().listNodes()[0]!.setScale([2, 0.5, 1]).setRotation([0, 0.6, 0, 0.8]);
      }),
  ],
];

const SIZES = [
  { degrees: 0, widthMm: 100, heightMm: 50 },
  { degrees: 30, widthMm: 80, heightMm: 80 },
  { degrees: 90, widthMm: 100, heightMm: 50 },
] as const;

let weave: Uint8Array;
beforeAll(async () => {
  const texture = await addTexture(new Document(), 'weave', 9, 8);
  weave = texture.getImage()!;
});

/** Delivers a model in finishes that lie at their angles, and measures the repeats of each on every triangle. */
async function deliver(model: Uint8Array, degrees: number, widthMm: number, heightMm: number) {
  const spliced = await splicer.splice(model, {
    finishes: [makeFinish('CLOTH', { family: 'textile', maps: { colour: 'weave' }, tile: { widthMm, heightMm } })],
    rows: [{ part: 'CLOTH' }],
    maps: { weave: { bytes: weave, mimeType: 'image/png' } },
    changeSlot: () => ({ grainDegrees: degrees }),
  });
  return measureRepeats(spliced.file, 'part/CLOTH');
}

const unit = (v: Vector): Vector => v.map((x) => x / Math.hypot(...v)) as unknown as Vector;

/** In metres; a thousandth of a repeat is more than what coordinates of 12 bits are rounded by. */
function expectStep(step: Vector, wanted: Vector, lengthM: number): void {
  expect(Math.hypot(...step.map((x, i) => x - wanted[i]! * lengthM)) / lengthM).toBeLessThan(2e-3);
}

// A finish takes the place of the part's map: at 0° it lies as that one does, and at more it is seen turned
// counter-clockwise as one looks at that map. What the part's map does is measured of the source in the same way.
describe.each(PANELS)('on a panel by %s', (_, make) => {
  it.each(SIZES)('a repeat of $widthMm × $heightMm mm at $degrees° has its size and direction', async (given) => {
    const { degrees, widthMm, heightMm } = given;
    const model = await make();
    const own = await measureRepeats(model, 'part');
    const laid = await deliver(model, degrees, widthMm, heightMm);
    expect(laid).toHaveLength(16);
    const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
    laid.forEach(({ across, down }, triangle) => {
      const [right, below] = [unit(own[triangle]!.across), unit(own[triangle]!.down)];
      const turned = (a: number, b: number) => right.map((x, i) => a * x + b * below[i]!) as unknown as Vector;
      expectStep(across, turned(cos, -sin), widthMm / 1000);
      expectStep(down, turned(sin, cos), heightMm / 1000);
    });
  });
});

// Islands of one layout: what each is turned or mirrored by shows, and its repeats have their size all the same
describe('islands that are turned and mirrored in one layout', () => {
  /** Panels side by side; the layout, square metres over a square, is drawn out along U by a factor. */
  const islands = (factor: number) =>
    [
      (x: number, y: number): Uv => [x, y],
      (x: number, y: number): Uv => [1.5 - y, x + 0.1],
      (x: number, y: number): Uv => [1.1 - x, 1.2 + y],
      (x: number, y: number): Uv => [0.6 + y * 0.8 + x * 0.6, 2 + x * 0.8 - y * 0.6],
    ].map((toUv, index) =>
      makePanel((x, y) => {
        const [u, v] = toUv(x, y);
        return [(u / 3) * factor, v / 3];
      }, index * 2),
    );

  it.each([
    ['even', 1],
    ['drawn out', 0.4],
  ])('have repeats of their size where it is %s', async (_, factor) => {
    const model = await makeModel(islands(factor));
    const laid = await deliver(model, 0, 100, 50);
    expect(laid).toHaveLength(64);
    for (const { across, down } of laid) {
      expect(Math.hypot(...across)).toBeCloseTo(0.1, 4);
      expect(Math.hypot(...down)).toBeCloseTo(0.05, 4);
      expect(across.reduce((sum, x, i) => sum + x * down[i]!, 0)).toBeCloseTo(0, 6);
    }
    const [{ sizes, stretch } = { sizes: null, stretch: 0 }] = (await splicer.survey(model)).materials.map(
      ({ uv }) => uv!,
    );
    expect(sizes).toMatchObject({ off: 0 });
    expect(stretch).toBeCloseTo(1, 4);
  });

  // half of the area at 2, 30 % at 2.4 and 20 % at 1: the percentiles are 1 and 2.4, and most has its true size
  it('of different density are told by how much, and most of the surface is true', async () => {
    const sheet = (size: number, perUnit: number, at: number): Solid => {
      const grid = makeGrid(4, 4, (u, v) => [u * size, v * size + at, 0]);
      return { ...grid, uvs: grid.uvs.map((value) => (value * size) / perUnit) };
    };
    const model = await makeModel([
      sheet(Math.sqrt(0.5), 2, 0),
      sheet(Math.sqrt(0.3), 2.4, 2),
      sheet(Math.sqrt(0.2), 1, 4),
    ]);
    const { lay, uv } = (await splicer.survey(model)).materials[0]!;
    expect(lay).toMatchObject({ metresPerU: expect.closeTo(2, 5), metresPerV: expect.closeTo(2, 5) });
    expect(uv!.sizes).toEqual({
      low: expect.closeTo(0.5, 5),
      high: expect.closeTo(1.2, 5),
      off: expect.closeTo(0.5, 5),
    });
  });
});
