import type { Document } from '@gltf-transform/core';
import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { quantize } from '@gltf-transform/functions';
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../../../support/build-model.ts';
import { readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import {
  addKind,
  cube,
  type Kind,
  move,
  reverse,
  sheet,
  tetrahedron,
  tube,
} from '../../../../support/inward-solids.ts';
import { makeGrid, type Solid } from '../../../../support/make-solid.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { surveyBytes } from '../../../../support/survey.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { listWorldTriangles, type WorldTriangle } from '../../../../support/world-triangles.ts';

// What was turned is read back by the glTF library: volumes by the sum of signed tetrahedra a · (b × c) / 6 (Zhang and Chen, ICIP
// 2001), and normals against the front, which is where corners run counter-clockwise (glTF 2.0 §3.7.4).

const write = async (document: Document) => Buffer.from(await (await createIo()).writeBinary(document));
const ball = makeGrid(12, 24, (u, v) => [
  0.5 * Math.sin(Math.PI * v) * Math.cos(2 * Math.PI * u),
  0.5 * Math.cos(Math.PI * v),
  0.5 * Math.sin(Math.PI * v) * Math.sin(2 * Math.PI * u),
]);

const points = ({ corners }: WorldTriangle) => corners.map((corner) => corner.slice(0, 3));
const cross = (a: readonly number[], b: readonly number[]) =>
  [0, 1, 2].map((i) => a[(i + 1) % 3]! * b[(i + 2) % 3]! - a[(i + 2) % 3]! * b[(i + 1) % 3]!);
const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, value, i) => sum + value * b[i]!, 0);
const minus = (a: readonly number[], b: readonly number[]) => a.map((value, i) => value - b[i]!);

function volumeOf(triangles: readonly WorldTriangle[]): number {
  return triangles.reduce((sum, triangle) => {
    const [a, b, c] = points(triangle) as [number[], number[], number[]];
    return sum + dot(a, cross(b, c)) / 6;
  }, 0);
}

/** Triangles whose stored normals look out of their back; those of no area say nothing. */
function countAgainst(triangles: readonly WorldTriangle[]): number {
  return triangles.filter((triangle) => {
    const [a, b, c] = points(triangle) as [number[], number[], number[]];
    const front = cross(minus(b, a), minus(c, a));
    const mean = [3, 4, 5].map((at) => triangle.corners.reduce((sum, corner) => sum + corner[at]!, 0));
    return dot(front, mean) < -1e-9;
  }).length;
}

async function make(solid: Solid, kind: Kind = {}, change: (document: Document) => unknown = () => {}) {
  const document = createDocument();
  addKind(document, 'part', solid, kind);
  await change(document);
  return write(document);
}

const TURN = { repair: 'turn-outward' } as const;

async function expectOutward(source: Buffer, volume: number, turned: object): Promise<Buffer> {
  const { glb, reports } = await repairBytes(source, [TURN]);
  expect(reports[0]).toMatchObject({ outcome: 'done', touchesGeometry: true, figures: turned });
  const triangles = await listWorldTriangles(glb);
  expect(volumeOf(triangles)).toBeCloseTo(volume, 2);
  expect(countAgainst(triangles)).toBe(0);
  expect(await listValidatorErrors(glb)).toEqual([]);
  expect((await surveyBytes(glb)).survey.inward).toEqual([]);
  expect((await repairBytes(glb, [TURN])).reports[0]!.outcome).toBe('nothing-to-do');
  return glb;
}

describe('turn-outward', () => {
  const BALL = volumeOf(
    Array.from({ length: ball.indices.length / 3 }, (_, t) => ({
      material: '',
      corners: [0, 1, 2].map((corner) => [
        ...ball.positions.subarray(ball.indices[t * 3 + corner]! * 3).subarray(0, 3),
      ]),
    })),
  );

  it.each<[string, Solid, Kind, object]>([
    ['corners and normals', reverse(cube), { normals: 'along' }, { both: 1, winding: 0, normals: 0 }],
    ['corners alone', reverse(cube), { normals: 'against' }, { both: 0, winding: 1, normals: 0 }],
    ['normals alone', cube, { normals: 'against' }, { both: 0, winding: 0, normals: 1 }],
    ['normals of a double-sided part', cube, { normals: 'against', doubleSided: true }, { normals: 1 }],
    ['corners of a part without normals', reverse(cube), {}, { both: 1 }],
  ])('%s', async (_, solid, kind, turned) => {
    await expectOutward(await make(solid, kind), 1, turned);
  });

  it.each<[string, (document: Document) => unknown]>([
    [
      'without indices',
      (document) => {
        const primitive = document.getRoot().listMeshes()[0]!.listPrimitives()[0]!;
        const order = [...primitive.getIndices()!.getArray()!];
        for (const accessor of primitive.listAttributes()) {
          const size = accessor.getElementSize();
          const values = accessor.getArray()!;
          accessor.setArray(new Float32Array(order.flatMap((at) => [...values.subarray(at * size, at * size + size)])));
        }
        primitive.setIndices(null);
      },
    ],
    ['quantised', (document) => document.transform(quantize())],
    ['Draco', (document) => document.createExtension(KHRDracoMeshCompression).setRequired(true)],
    ['meshopt', (document) => document.createExtension(EXTMeshoptCompression).setRequired(true)],
    [
      'meshopt with filters',
      async (document) => {
        await document.transform(quantize());
        const options = { method: EXTMeshoptCompression.EncoderMethod.FILTER };
        document.createExtension(EXTMeshoptCompression).setRequired(true).setEncoderOptions(options);
      },
    ],
  ])('a ball, %s', async (name, change) => {
    const glb = await expectOutward(await make(reverse(ball), { normals: 'along' }, change), BALL, { both: 1 });
    if (name !== 'quantised') return;
    const { json } = readGlb(glb);
    const { NORMAL } = json.meshes![0]!.primitives[0]!.attributes;
    expect(json.accessors![NORMAL!]!.componentType).not.toBe(5126);
  });

  it('a tetrahedron drawn as a strip becomes a list', async () => {
    // 0 1 2, 1 3 2, 2 3 0, 3 1 0: the strip's odd triangles have their last two corners exchanged (§3.7.2.1)
    const source = await make(tetrahedron, {}, (document) => {
      const primitive = document.getRoot().listMeshes()[0]!.listPrimitives()[0]!.setMode(5);
      primitive.getIndices()!.setArray(new Uint16Array([0, 1, 2, 3, 0, 1]));
    });
    const before = volumeOf(await listWorldTriangles(source));
    expect(before).toBeCloseTo(-1 / 6, 6);
    const glb = await expectOutward(source, 1 / 6, { both: 1 });
    expect(readGlb(glb).json.meshes![0]!.primitives[0]!.mode ?? 4).toBe(4);
  });

  it('keeps bitangents where the UVs have them, and turns what morph targets add to normals', async () => {
    const source = await make(reverse(ball), { normals: 'along' }, (document) => {
      const buffer = document.getRoot().listBuffers()[0]!;
      const primitive = document.getRoot().listMeshes()[0]!.listPrimitives()[0]!;
      const count = primitive.getAttribute('POSITION')!.getCount();
      const floats = (type: 'VEC3' | 'VEC4', at: (i: number) => number) => {
        const length = count * (type === 'VEC3' ? 3 : 4);
        return document
          .createAccessor()
          .setType(type)
          .setArray(Float32Array.from({ length }, (_, i) => at(i)))
          .setBuffer(buffer);
      };
      primitive.setAttribute(
        'TANGENT',
        floats('VEC4', (i) => [0, 1, 0, -1][i % 4]!),
      );
      const target = document.createPrimitiveTarget();
      target.setAttribute(
        'POSITION',
        floats('VEC3', () => 0.125),
      );
      target.setAttribute(
        'NORMAL',
        floats('VEC3', (i) => [0.25, -0.5, 0][i % 3]!),
      );
      primitive.addTarget(target);
    });
    const { glb } = await repairBytes(source, [TURN]);
    const read = async (bytes: Buffer) => {
      const primitive = (await (await createIo()).readBinary(bytes)).getRoot().listMeshes()[0]!.listPrimitives()[0]!;
      const element = (name: string) => primitive.getAttribute(name)!.getElement(7, []);
      const [target] = primitive.listTargets();
      const [normal, [x, y, z, w]] = [element('NORMAL'), element('TANGENT')];
      return {
        normal,
        bitangent: cross(normal, [x!, y!, z!]).map((value) => value * w!),
        moved: target!.getAttribute('POSITION')!.getElement(7, []),
        leans: target!.getAttribute('NORMAL')!.getElement(7, []),
      };
    };
    const [was, is] = [await read(source), await read(glb)];
    for (const [at, value] of is.normal.entries()) expect(value).toBeCloseTo(-was.normal[at]!, 6);
    // the bitangent is cross(normal, tangent) × w (§3.7.2.1)
    for (const [at, value] of is.bitangent.entries()) expect(value).toBeCloseTo(was.bitangent[at]!, 6);
    expect(is.moved).toEqual(was.moved);
    expect(is.leans.map((value) => value + 0)).toEqual([-0.25, 0.5, 0]);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('turns a mesh that several nodes draw once, mirrored ones with it; only where nodes disagree it is copied', async () => {
    const document = createDocument();
    const node = addKind(document, 'left', reverse(cube), { normals: 'along' });
    const scene = document.getRoot().listScenes()[0]!;
    scene.addChild(document.createNode('right').setMesh(node.getMesh()).setTranslation([5, 0, 0]).setScale([-1, 1, 1]));
    const glb = await expectOutward(await write(document), 2, { both: 2, meshesCopied: 0 });
    expect(readGlb(glb).json.meshes).toHaveLength(1);

    // one square lies on a box with its back up, the other stands free
    const covers = createDocument();
    addKind(covers, 'body', cube);
    const cover = addKind(covers, 'cover', move(reverse(sheet), 0, 1.002, 0), { normals: 'along' });
    const free = covers.createNode('free').setMesh(cover.getMesh()).setTranslation([4, 0, 0]);
    covers.getRoot().listScenes()[0]!.addChild(free);
    const { reports } = await repairBytes(await write(covers), [TURN]);
    expect(reports[0]).toMatchObject({ outcome: 'done', figures: { pieces: 1, meshesCopied: 1 } });
  });

  it('leaves vertices alone that pieces facing outward have in the same accessors', async () => {
    const both = {
      positions: new Float32Array([...cube.positions, ...move(cube, 3, 0, 0).positions]),
      uvs: new Float32Array([...cube.uvs, ...cube.uvs]),
      indices: new Uint32Array([...reverse(cube).indices, ...cube.indices.map((at) => at + cube.positions.length / 3)]),
    };
    await expectOutward(await make(both, { normals: 'along' }), 2, { pieces: 1, both: 1 });
  });

  it('takes pieces by id and shape even where it is not certain, and materials by name only where it is', async () => {
    const source = await make(reverse(tube), { normals: 'along' });
    const [piece] = (await surveyBytes(source)).pieces;
    const run = async (repair: object) => (await repairBytes(source, [{ ...TURN, ...repair }], 'lenient')).reports[0]!;
    expect((await run({})).outcome).toBe('nothing-to-do');
    expect((await run({ materials: ['part'] })).outcome).toBe('nothing-to-do');
    expect((await run({ materials: ['nobody'] })).outcome).toBe('unfit');
    expect((await run({ pieces: ['000000000000'] })).outcome).toBe('unfit');
    const named = { ...TURN, pieces: ['000000000000'], shapes: [piece!.shape] };
    expect((await run({ pieces: [piece!.piece] })).outcome).toBe('done');
    const { glb, reports } = await repairBytes(source, [named]);
    expect(reports[0]!.outcome).toBe('done');
    // the next export comes mended: the step finds its piece, and leaves it
    expect((await repairBytes(glb, [named])).reports[0]!.outcome).toBe('nothing-to-do');
  });
});
