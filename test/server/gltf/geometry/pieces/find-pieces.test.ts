import { Document } from '@gltf-transform/core';
import { describe, expect, it } from 'vitest';
import type { Piece } from '../../../../../server/core/product/survey.ts';
import { listSceneNodes } from '../../../../../server/gltf/document/world-matrices.ts';
import { findPieces } from '../../../../../server/gltf/geometry/pieces/find-pieces.ts';
import { readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { addSolid, joinSolids, makeCube, makeGrid, type Solid, sumHeron } from '../../../../support/make-solid.ts';
import { createRandom } from '../../../../support/random.ts';
import { surveyDocument } from '../../../../support/survey.ts';

const sphere = makeGrid(24, 48, (u, v) => [
  0.2 * Math.sin(Math.PI * v) * Math.cos(2 * Math.PI * u),
  0.2 * Math.cos(Math.PI * v),
  0.2 * Math.sin(Math.PI * v) * Math.sin(2 * Math.PI * u),
]);
const torus = makeGrid(32, 64, (u, v) => {
  const ring = 0.5 + 0.1 * Math.cos(2 * Math.PI * v);
  return [ring * Math.cos(2 * Math.PI * u), 0.1 * Math.sin(2 * Math.PI * v), ring * Math.sin(2 * Math.PI * u)];
});
const cube = makeCube(0.5);

const ids = (pieces: readonly Piece[]) => pieces.map(({ piece }) => piece).sort();
const shapes = (pieces: readonly Piece[]) => pieces.map(({ shape }) => shape).sort();

/** Ids of all pieces, without a survey round them. */
async function findAll(document: Document): Promise<string[]> {
  const { json, bin } = readGlb(await (await createIo()).writeBinary(document));
  return findPieces({ json, bin: bin as Buffer }, listSceneNodes(json)).pieces.map(({ piece }) => piece);
}

/** A seat on four legs and a ball beside it, in metres; each part a node of its own. */
function makeStool(change: { parts?: (parts: Solid[]) => Solid[]; unit?: number; loose?: boolean } = {}): Document {
  const { parts = (list) => list, unit = 1, loose = true } = change;
  const move = (solid: Solid, x: number, y: number, z: number, stretch = 1): Solid => ({
    ...solid,
    positions: solid.positions.map((value, i) => ((i % 3 === 1 ? value * stretch : value) + [x, y, z][i % 3]!) * unit),
  });
  const solids = parts([
    move(cube, 0, 0.41, 0, 0.1),
    ...[0, 0.4117].flatMap((x) => [0, 0.4117].map((z) => move(makeCube(0.0873), x, 0, z, 4.5))),
    move(sphere, 1.13, 0.2, 0.3),
  ]);
  const document = new Document();
  const material = document.createMaterial('wood');
  if (loose) for (const [i, solid] of solids.entries()) addSolid(document, `part_${i}`, solid, material);
  else addSolid(document, 'all', joinSolids(solids), material);
  return document;
}

describe('area and pieces', () => {
  // Surfaces: cube 6a²; sphere 4πr² and torus 4π²Rr (Bronstein, Handbook of Mathematics, solids), which the drawn
  // polyhedra approach from inside; the polyhedra themselves are summed by Heron's formula.
  it.each([
    ['cube', cube, 6 * 0.5 ** 2, 1e-6],
    ['sphere', sphere, 4 * Math.PI * 0.2 ** 2, 0.01],
    ['torus', torus, 4 * Math.PI ** 2 * 0.5 * 0.1, 0.01],
  ] as const)('of a %s', async (_, solid, exact, off) => {
    const document = new Document();
    addSolid(document, 'solid', solid, document.createMaterial('m'));
    const { survey, pieces } = await surveyDocument(document);
    expect(pieces).toHaveLength(1);
    expect(survey.counts.pieces).toBe(1);
    const area = survey.materials[0]!.areaM2;
    expect(Math.abs(area / sumHeron(solid) - 1)).toBeLessThan(1e-6);
    expect(Math.abs(area / exact - 1)).toBeLessThan(off);
    expect(pieces[0]!.triangles).toBe(solid.indices.length / 3);
  });

  it('of boxes: two that touch in a corner are one, two that stand apart are two, whatever the material of others', async () => {
    const shift = (by: number): Solid => ({ ...cube, positions: cube.positions.map((value) => value + by) });
    const count = async (by: number, other = false) => {
      const document = new Document();
      const material = document.createMaterial('m');
      addSolid(document, 'one', cube, material);
      addSolid(document, 'two', shift(by), other ? document.createMaterial('n') : material);
      return (await surveyDocument(document)).survey.counts.pieces;
    };
    expect(await count(0.5)).toBe(1);
    expect(await count(0.5, true)).toBe(2);
    expect(await count(0.501)).toBe(2);
  });

  it('weld points within a hundred-thousandth of the whole, wherever they fall', async () => {
    const random = createRandom(7);
    // two fans of triangles over the same rim, the second off by at most 0.9 × 10⁻⁵ of the model's extent of 2 m
    for (const [off, pieces] of [
      [0.9e-5, 1],
      [6e-5, 2],
    ] as const) {
      const rim = Array.from({ length: 40 }, (_, i) => [
        Math.cos((i / 40) * 2 * Math.PI),
        random.next(),
        Math.sin((i / 40) * 2 * Math.PI),
      ]);
      const fan = (top: number, shift: number): Solid => {
        const points = [...rim.map(([x, y, z]) => [x! + shift, y!, z!]), [0, top, 0]];
        return {
          positions: new Float32Array(points.flat()),
          uvs: new Float32Array(points.length * 2),
          indices: new Uint32Array(rim.flatMap((_, i) => [i, (i + 1) % rim.length, rim.length])),
        };
      };
      const document = new Document();
      const material = document.createMaterial('m');
      addSolid(document, 'lower', fan(-0.5, 0), material);
      addSolid(document, 'upper', fan(1.2, off * 2), material);
      expect((await surveyDocument(document)).survey.counts.pieces, `${off}`).toBe(pieces);
    }
  });
});

describe('ids of pieces', () => {
  it('are all different, with one shape for the four legs', async () => {
    const { pieces } = await surveyDocument(makeStool());
    expect(pieces).toHaveLength(6);
    expect(new Set(ids(pieces)).size).toBe(6);
    expect(new Set(shapes(pieces)).size).toBe(3);
    for (const { piece, shape } of pieces) expect(piece + shape).toMatch(/^[0-9a-f]{24}$/);
  });

  it.each([
    ['in centimetres', makeStool({ unit: 100 })],
    ['in inches', makeStool({ unit: 39.3701 })],
    ['joined into one mesh', makeStool({ loose: false })],
    ['in another order', makeStool({ parts: (parts) => [...parts].reverse() })],
    [
      'with shuffled triangles',
      makeStool({
        parts: (parts) =>
          parts.map((solid) => {
            const random = createRandom(3);
            const faces = Array.from({ length: solid.indices.length / 3 }, (_, t) => [
              ...solid.indices.subarray(t * 3, t * 3 + 3),
            ]);
            faces.sort(() => random.next() - 0.5);
            return { ...solid, indices: new Uint32Array(faces.flatMap(([a, b, c]) => [b!, c!, a!])) };
          }),
      }),
    ],
  ])('survive an export %s', async (_, document) => {
    expect(ids((await surveyDocument(document)).pieces)).toEqual(ids((await surveyDocument(makeStool())).pieces));
    expect(shapes((await surveyDocument(document)).pieces)).toEqual(shapes((await surveyDocument(makeStool())).pieces));
  });

  // glTF 2.0 leaves names free; how exporters nest and number them is common practice
  it('belong to the part that node, mesh or a node above names', async () => {
    const document = new Document();
    const scene = document.createScene();
    const material = document.createMaterial('baked');
    const product = document.createNode('Backpack_11');
    scene.addChild(document.createNode('Sketchfab_model').addChild(product));
    const names = [
      ['Bag_0', 'Object_5', 'Object_0'],
      ['Group', 'Strap_Left', 'Object_1'],
      ['Group.002', 'node_3', 'Handle'],
      ['Group.003', '', 'Mesh.004'],
    ] as const;
    for (const [index, [above, own, mesh]] of names.entries()) {
      const node = addSolid(document, mesh, cube, material).setName(own).setTranslation([index, 0, 0]);
      node.getMesh()!.setName(mesh);
      product.addChild(document.createNode(above).addChild(node));
    }
    const { pieces } = await surveyDocument(document);
    const parts = [...pieces].sort((a, b) => a.box.min[0]! - b.box.min[0]!).map(({ part }) => part);
    expect(parts).toEqual(['Bag_0', 'Strap_Left', 'Handle', 'Backpack_11']);
  });

  it('survive transforms that stand on the nodes instead of in the geometry', async () => {
    const document = makeStool({ unit: 100 });
    for (const node of document.getRoot().listNodes()) node.setScale([0.01, 0.01, 0.01]).setTranslation([0.5, 0, 0.25]);
    expect(ids((await surveyDocument(document)).pieces)).toEqual(ids((await surveyDocument(makeStool())).pieces));
  });

  it('survive another unit in all but a few of thousands', async () => {
    const random = createRandom(23);
    const blocks = Array.from({ length: 2000 }, () => ({
      sides: [0, 1, 2].map(() => 0.01 + 0.03 * random.next()),
      at: [0, 1, 2].map(() => random.next()),
    }));
    const makeBlocks = (unit: number): Document => {
      const document = new Document();
      const material = document.createMaterial('m');
      const solids = blocks.map(({ sides, at }, index) => ({
        ...cube,
        // a lattice keeps them apart
        positions: cube.positions.map(
          (value, i) => (value * 2 * sides[i % 3]! + at[i % 3]! * 0.01 + latticeAt(index)[i % 3]! * 0.06) * unit,
        ),
      }));
      addSolid(document, 'all', joinSolids(solids), material);
      return document;
    };
    const latticeAt = (index: number) => [index % 13, Math.floor(index / 13) % 13, Math.floor(index / 169)];
    const own = await findAll(makeBlocks(1));
    for (const unit of [100, 39.3701, 1 / 3]) {
      const other = new Set(await findAll(makeBlocks(unit)));
      const lost = own.filter((id) => !other.has(id)).length;
      expect(own).toHaveLength(2000);
      expect(lost, `unit ${unit}`).toBeLessThanOrEqual(4);
    }
  });

  it('give a piece that is turned by a quarter the shape it had', async () => {
    const slab = (turn: (x: number, y: number, z: number) => number[], x: number): Solid => {
      const box = makeCube(1);
      const positions = new Float32Array(box.positions.length);
      for (let i = 0; i < positions.length; i += 3) {
        const [a, b, c] = [box.positions[i]! * 0.4, box.positions[i + 1]! * 0.05, box.positions[i + 2]! * 0.2];
        positions.set(
          turn(a, b, c).map((value, axis) => (axis === 0 ? value + x : value)),
          i,
        );
      }
      return { ...box, positions };
    };
    const document = new Document();
    const material = document.createMaterial('m');
    addSolid(
      document,
      'lying',
      slab((x, y, z) => [x, y, z], 0),
      material,
    );
    addSolid(
      document,
      'standing',
      slab((x, y, z) => [-y, x, z], 1),
      material,
    );
    addSolid(
      document,
      'on its side',
      slab((x, y, z) => [z, y, -x], 2),
      material,
    );
    addSolid(
      document,
      'thicker',
      slab((x, y, z) => [x, y * 1.1, z], 3),
      material,
    );
    const { pieces } = await surveyDocument(document);
    const shapeOf = (name: string) => pieces.find(({ nodes }) => nodes[0] === name)!.shape;
    expect(shapeOf('standing')).toBe(shapeOf('lying'));
    expect(shapeOf('on its side')).toBe(shapeOf('lying'));
    expect(shapeOf('thicker')).not.toBe(shapeOf('lying'));
  });

  it('change with the piece, and only its own', async () => {
    const taller = makeStool({
      parts: ([seat, ...rest]) => [
        {
          ...seat!,
          positions: seat!.positions.map((value, i) => (i % 3 === 1 && value > 0.43 ? value + 0.01 : value)),
        },
        ...rest,
      ],
    });
    const before = new Set(ids((await surveyDocument(makeStool())).pieces));
    const after = ids((await surveyDocument(taller)).pieces);
    expect(after.filter((id) => !before.has(id))).toHaveLength(1);
  });

  it('tell apart what stands in the same place twice', async () => {
    const document = new Document();
    addSolid(document, 'front', sphere, document.createMaterial('m'));
    addSolid(document, 'back', sphere, document.createMaterial('n'));
    const { pieces } = await surveyDocument(document);
    expect(new Set(ids(pieces)).size).toBe(2);
    expect(new Set(shapes(pieces)).size).toBe(1);
  });
});

describe('strips and fans', () => {
  // glTF 2.0 §3.7.2.1: n + 2 corners draw n triangles; points and lines draw none.
  it.each([
    ['triangles', 4, 2],
    ['a strip', 5, 4],
    ['a fan', 6, 4],
    ['points', 0, 0],
    ['lines', 1, 0],
  ] as const)('%s of six corners', async (_, mode, triangles) => {
    const document = new Document();
    const corners = mode === 6 ? [0, 0, 1, 0, 1, 1, 0, 1, -1, 1, -1, 0] : [0, 0, 1, 0, 0, 1, 1, 1, 0, 2, 1, 2];
    const flat = Array.from({ length: 6 }, (_, i) => [corners[i * 2]!, corners[i * 2 + 1]!, 0]).flat();
    const buffer = document.createBuffer();
    const position = document.createAccessor().setType('VEC3').setArray(new Float32Array(flat)).setBuffer(buffer);
    const primitive = document.createPrimitive().setAttribute('POSITION', position).setMode(mode);
    const mesh = document.createMesh().addPrimitive(primitive.setMaterial(document.createMaterial('m')));
    document.createScene().addChild(document.createNode().setMesh(mesh));
    const { survey, pieces } = await surveyDocument(document);
    expect(pieces.reduce((sum, piece) => sum + piece.triangles, 0)).toBe(triangles);
    expect(survey.counts.triangles).toBe(triangles);
    // unit squares are halved: each triangle has half a square metre
    expect(survey.materials[0]!.areaM2).toBeCloseTo(triangles / 2, 6);
  });
});
