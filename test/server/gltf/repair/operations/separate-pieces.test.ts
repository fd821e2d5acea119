import type { Document } from '@gltf-transform/core';
import { KHRDracoMeshCompression, KHRMaterialsVariants } from '@gltf-transform/extensions';
import { describe, expect, it } from 'vitest';
import type { Piece } from '../../../../../server/core/product/survey.ts';
import { planSeparations } from '../../../../../server/core/repair/plan-separations.ts';
import type { PieceGroup, Repair } from '../../../../../server/core/repair/repair.ts';
import { listSceneNodes } from '../../../../../server/gltf/document/world-matrices.ts';
import { colourPieces } from '../../../../../server/gltf/geometry/pieces/colour-pieces.ts';
import { findPieces } from '../../../../../server/gltf/geometry/pieces/find-pieces.ts';
import { addPart, addTexture, createDocument } from '../../../../support/build-model.ts';
import { editGlb, listReadRanges, materialsByVariant, readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { openInBabylon } from '../../../../support/open-in-babylon.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import {
  CHAIR_PARTS,
  CHAIR_PARTS_ADDED,
  listChairParts,
  makeSupplierChair,
} from '../../../../support/supplier-chair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { countUnmatched, listWorldTriangles } from '../../../../support/world-triangles.ts';

// World triangles are read by glTF-Transform, triangles counted by Babylon.js, files judged by the Khronos validator;
// which part is of which stuff is what the fixture was drawn by.

const write = async (document: Document) => (await createIo()).writeBinary(document);

function listPieces(bytes: Uint8Array): readonly Piece[] {
  const { json, bin } = readGlb(bytes);
  return findPieces({ json, bin }, listSceneNodes(json)).pieces;
}

const separate = (groups: readonly PieceGroup[], material = 'baked'): Repair => ({
  repair: 'separate-pieces',
  material,
  groups,
});

/** Groups of the chair by what its parts are made of, pieces told by their nodes' names. */
function groupChair(pieces: readonly Piece[]): PieceGroup[] {
  const stuffs = new Map(listChairParts(true).map(({ name, stuff }) => [name, stuff]));
  return (['oak', 'cloth', 'black'] as const).map((stuff) => {
    const own = pieces.filter(({ nodes }) => stuffs.get(nodes[0]!) === stuff);
    return { name: stuff, pieces: own.map(({ piece }) => piece), shapes: [...new Set(own.map(({ shape }) => shape))] };
  });
}

const planByColour = (pieces: readonly Piece[]) =>
  planSeparations(pieces, 0).find(({ by }) => by === 'colours')!.groups;

/** How many triangles each material wears; by the glTF library. */
async function countByMaterial(bytes: Uint8Array): Promise<Record<string, number>> {
  const counts: Record<string, number> = {};
  for (const { material } of await listWorldTriangles(bytes)) counts[material] = (counts[material] ?? 0) + 1;
  return counts;
}

async function expectSameTriangles(before: Uint8Array, after: Uint8Array, off = 1e-6): Promise<void> {
  const [was, is] = [await listWorldTriangles(before), await listWorldTriangles(after)];
  expect(is).toHaveLength(was.length);
  expect(countUnmatched(was, is, { off, materials: false })).toBe(0);
  expect(await listValidatorErrors(after)).toEqual([]);
  const [first, second] = [await openInBabylon(before), await openInBabylon(after)];
  expect(second.countTriangles()).toBe(first.countTriangles());
  first.close();
  second.close();
}

describe('the chair', () => {
  it('is separated by what its parts are made of; vertices keep their bytes, the first group inherits the material', async () => {
    const chair = await makeSupplierChair({ scale: 0.01 });
    const pieces = listPieces(chair);
    expect(pieces).toHaveLength(CHAIR_PARTS);
    // the fixture's own drawing: 46 × 82 × 52 cm
    for (const [axis, size] of [0.46, 0.82, 0.5225].entries()) {
      const [low, high] = [
        Math.min(...pieces.map(({ box }) => box.min[axis]!)),
        Math.max(...pieces.map(({ box }) => box.max[axis]!)),
      ];
      expect(high - low).toBeCloseTo(size, 4);
    }
    const { glb, reports, materialOrigins } = await repairBytes(chair, [separate(groupChair(pieces))]);
    await expectSameTriangles(chair, glb);
    const { json } = readGlb(glb);
    expect(json.materials!.map(({ name }) => name)).toEqual(['oak', 'cloth', 'black']);
    expect(materialOrigins).toEqual([0, 0, 0]);
    const { name: _, ...look } = json.materials![0]!;
    expect(json.materials![1]).toEqual({ ...look, name: 'cloth' });
    expect(reports[0]).toMatchObject({
      outcome: 'done',
      figures: { byId: CHAIR_PARTS, byPart: 0, byShape: 0, byColour: 0, left: 0, groups: 3 },
      message: '569 pieces of “baked” are now the slots “oak” (45), “cloth” (53) and “black” (471): 569 found by id.',
    });
    const digests = new Set(listReadRanges(readGlb(glb)).map(({ sha256 }) => sha256));
    for (const { sha256 } of listReadRanges(readGlb(chair))) expect(digests).toContain(sha256);
  });

  it.each([
    ['merged', [{ repair: 'merge-parts' }]],
    ['scaled', [{ repair: 'scale', factor: 0.01 }]],
    ['baked', [{ repair: 'bake-transforms' }]],
    [
      'scaled, baked and merged',
      [{ repair: 'scale', factor: 0.01 }, { repair: 'bake-transforms' }, { repair: 'merge-parts' }],
    ],
  ] as [string, Repair[]][])('%s first is separated by the ids it had before', async (_, repairs) => {
    const chair = await makeSupplierChair();
    const groups = groupChair(listPieces(chair));
    const ready = await repairBytes(chair, repairs);
    const { glb, reports } = await repairBytes(ready.glb, [separate(groups)]);
    expect(reports[0]!.figures).toMatchObject({ byId: CHAIR_PARTS, left: 0 });
    expect(await countByMaterial(glb)).toEqual(
      await countByMaterial((await repairBytes(chair, [separate(groups)])).glb),
    );
    await expectSameTriangles(ready.glb, glb);
  });

  it('merged afterwards is drawn once a material', async () => {
    const chair = await makeSupplierChair({ scale: 0.01 });
    const { glb, reports } = await repairBytes(chair, [
      separate(groupChair(listPieces(chair))),
      { repair: 'merge-parts' },
    ]);
    await expectSameTriangles(chair, glb, 1e-5);
    expect(reports[1]!.figures).toMatchObject({ drawsBefore: CHAIR_PARTS, drawsAfter: 3 });
    expect(readGlb(glb).json.meshes![0]!.primitives.map(({ material }) => material)).toEqual([0, 1, 2]);
  });

  it('exported again finds its groups by shape where ids have changed, and by colour where shapes have', async () => {
    const chair = await makeSupplierChair();
    const changed = await makeSupplierChair({ changed: true });
    const proposal = planByColour(await coloursOf(chair));
    expect(proposal).toHaveLength(3);
    const wanted = await countByMaterial((await repairBytes(changed, [separate(groupChair(listPieces(changed)))])).glb);
    const { glb, reports } = await repairBytes(changed, [separate(proposal)]);
    const { byId, byShape, byColour, left } = reports[0]!.figures as Record<string, number>;
    expect(byId! + byShape! + byColour!).toBe(CHAIR_PARTS + CHAIR_PARTS_ADDED);
    expect(left).toBe(0);
    expect(byColour).toBeGreaterThan(0);
    expect(Object.values(await countByMaterial(glb)).sort()).toEqual(Object.values(wanted).sort());
  });

  it('is proposed to be its stuffs, by colour alone', async () => {
    const pieces = await coloursOf(await makeSupplierChair());
    const groups = planByColour(pieces);
    const expected = groupChair(pieces).map(({ pieces }) => [...pieces].sort());
    expect(groups.map(({ pieces }) => [...pieces].sort())).toEqual(expected);
    expect(groups.map(({ name }) => name)).toEqual(['Light brown', 'Blue', 'Black']);
  });
});

describe('a mesh of several pieces', () => {
  /** Two sheets a metre apart in one mesh, which two nodes show. */
  async function makePair(change?: (document: Document) => void) {
    const document = createDocument();
    const material = document.createMaterial('baked').setBaseColorTexture(await addTexture(document, 'atlas', 1));
    document.createMaterial('other');
    const mesh = addPart(document, { name: 'left', material });
    const primitive = mesh.listPrimitives()[0]!;
    const join = (array: ArrayLike<number>, shift: (value: number, at: number) => number) => [
      ...Array.from(array),
      ...Array.from(array, shift),
    ];
    const position = primitive.getAttribute('POSITION')!;
    position.setArray(new Float32Array(join(position.getArray()!, (value, at) => value + (at % 3 === 0 ? 2 : 0))));
    for (const name of ['NORMAL', 'TEXCOORD_0']) {
      const accessor = primitive.getAttribute(name)!;
      accessor.setArray(new Float32Array(join(accessor.getArray()!, (value) => value)));
    }
    const indices = primitive.getIndices()!;
    indices.setArray(new Uint16Array(join(indices.getArray()!, (value) => value + 25)));
    const copy = document.createNode('right').setMesh(mesh).setTranslation([0, 0, 5]);
    document.getRoot().listScenes()[0]!.addChild(copy);
    change?.(document);
    return write(document);
  }
  const idOf = (pieces: readonly Piece[], x: number, z: number) =>
    pieces.find(({ box }) => Math.abs(box.min[0]! - x) < 0.01 && Math.abs(box.min[2]! - z) < 0.01)!.piece;

  it('is split into primitives that share its vertices', async () => {
    const pair = await makePair();
    const pieces = listPieces(pair);
    const group = { name: 'new', pieces: [idOf(pieces, 2, 0), idOf(pieces, 2, 5)] };
    const { glb, reports } = await repairBytes(pair, [separate([group])]);
    await expectSameTriangles(pair, glb);
    const { json } = readGlb(glb);
    expect(json.meshes).toHaveLength(1);
    const [stays, leaves] = json.meshes![0]!.primitives;
    expect(leaves!.attributes).toEqual(stays!.attributes);
    expect([stays!.material, leaves!.material]).toEqual([0, 2]);
    expect(json.materials!.map(({ name }) => name)).toEqual(['baked', 'other', 'new']);
    expect(reports[0]!.figures).toMatchObject({ byId: 2, left: 2, meshesCopied: 0, triangles: 64 });
  });

  it('is copied where the nodes that show it want different things of it', async () => {
    const pair = await makePair();
    const group = { name: 'new', pieces: [idOf(listPieces(pair), 2, 5)] };
    const { glb, reports } = await repairBytes(pair, [separate([group])]);
    await expectSameTriangles(pair, glb);
    const { json } = readGlb(glb);
    expect(json.meshes!.map(({ primitives }) => primitives.map(({ material }) => material)).sort()).toEqual([
      [0],
      [0, 2],
    ]);
    expect(json.nodes![0]!.mesh).not.toBe(json.nodes![1]!.mesh);
    expect(reports[0]!.figures.meshesCopied).toBe(1);
    expect(
      listPieces(glb)
        .filter(({ material }) => material === 2)
        .map(({ piece }) => piece),
    ).toEqual(group.pieces);
  });

  it('keeps what its primitives wear in variants', async () => {
    const pair = await makePair((document) => {
      const extension = document.createExtension(KHRMaterialsVariants);
      const [, other] = document.getRoot().listMaterials();
      const mapping = extension.createMapping().setMaterial(other!).addVariant(extension.createVariant('night'));
      const list = extension.createMappingList().addMapping(mapping);
      document.getRoot().listMeshes()[0]!.listPrimitives()[0]!.setExtension('KHR_materials_variants', list);
    });
    const pieces = listPieces(pair);
    const { glb } = await repairBytes(pair, [
      separate([{ name: 'new', pieces: [idOf(pieces, 2, 0), idOf(pieces, 2, 5)] }]),
    ]);
    const read = readGlb(glb);
    expect([0, 1].map((primitive) => materialsByVariant(read, 0, primitive))).toEqual([[1], [1]]);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('gets indices where it had none', async () => {
    const loose = await makePair((document) => {
      const primitive = document.getRoot().listMeshes()[0]!.listPrimitives()[0]!;
      const order = [...primitive.getIndices()!.getArray()!];
      for (const accessor of primitive.listAttributes()) {
        const values = order.flatMap((index) => accessor.getElement(index, [] as number[]));
        accessor.setArray(new Float32Array(values));
      }
      primitive.setIndices(null);
    });
    const pieces = listPieces(loose);
    const chosen = [idOf(pieces, 2, 0), idOf(pieces, 2, 5)];
    const { glb } = await repairBytes(loose, [separate([{ name: 'new', pieces: chosen }])]);
    await expectSameTriangles(loose, glb);
    const { meshes, accessors } = readGlb(glb).json;
    for (const { indices } of meshes![0]!.primitives)
      expect(accessors![indices!]).toMatchObject({ componentType: 5123, count: 96 });
  });

  it('is unpacked from Draco first', async () => {
    const options = { quantizationBits: { POSITION: 16 } };
    const packed = await makePair((document) => {
      document.createExtension(KHRDracoMeshCompression).setRequired(true).setEncoderOptions(options);
    });
    const plain = await repairBytes(packed, [{ repair: 'merge-parts' }]);
    const chosen = listPieces(plain.glb)
      .slice(0, 1)
      .map(({ piece }) => piece);
    const { glb, reports } = await repairBytes(packed, [separate([{ name: 'new', pieces: chosen }])]);
    expect(reports[0]!.figures).toMatchObject({ byId: 1, left: 3 });
    // Babylon.js here has no decoder
    await expectSameTriangles(plain.glb, glb, 1e-5);
  });

  it('does not fit, and changes nothing, where names or pieces do not', async () => {
    const pair = await makePair();
    const plain = await repairBytes(pair, []);
    const pieces = listPieces(pair).map(({ piece }) => piece);
    for (const [repair, message] of [
      [separate([{ name: 'new', pieces }], 'oak'), 'The model has no material “oak”. It has “baked” and “other”.'],
      [separate([{ name: 'new', pieces: ['0'] }]), 'No piece of “baked” (4 pieces) fits'],
      [separate([{ name: ' ', pieces }]), 'Group 1 has no name.'],
      [separate([{ name: 'Other', pieces }]), 'The model has another material “Other”.'],
      [
        separate([
          { name: 'a', pieces },
          { name: 'A ', pieces },
        ]),
        'Two groups have the name “A ”.',
      ],
      [separate([{ name: 'new', pieces }], 'other'), 'No piece of “other” (0 pieces) fits'],
    ] as const) {
      const { reports, sha256 } = await repairBytes(pair, [repair], 'lenient');
      expect(reports[0]).toMatchObject({ outcome: 'unfit', message: expect.stringContaining(message) });
      expect(sha256).toBe(plain.sha256);
    }
  });

  it('stays with the material where the group is called like it', async () => {
    const pair = await makePair();
    const pieces = listPieces(pair);
    const [a, b, c, d] = pieces.map(({ piece }) => piece) as [string, string, string, string];
    const { glb, reports } = await repairBytes(pair, [
      separate([
        { name: 'new', pieces: [a] },
        { name: 'baked', pieces: [b, c, d] },
      ]),
    ]);
    expect(readGlb(glb).json.materials!.map(({ name }) => name)).toEqual(['baked', 'other', 'new']);
    expect(reports[0]!.figures).toMatchObject({ groups: 2, left: 0 });
    const none = await repairBytes(pair, [separate([{ name: 'baked', pieces: [a, b, c, d] }])]);
    expect(none.reports[0]!.outcome).toBe('nothing-to-do');
  });

  it('asks before what drives the material would no longer drive what leaves it', async () => {
    const animated = editGlb(await makePair(), (json) => {
      const pointer = '/materials/0/emissiveFactor';
      const target = { path: 'pointer', extensions: { KHR_animation_pointer: { pointer } } };
      json.animations = [{ channels: [{ sampler: 0, target }], samplers: [{ input: 0, output: 0 }] }];
    });
    const group = { name: 'new', pieces: [listPieces(animated)[0]!.piece] };
    await expect(repairBytes(animated, [separate([group])])).rejects.toMatchObject({ code: 'repair-would-lose' });
  });
});

// Real models of @webxr-input-profiles/assets 1.0.20 (MIT); generic-hand is skinned
describe.each(['oculus-touch/left.glb', 'generic-hand/left.glb', 'oculus-go/none.glb'])('%s', (path) => {
  it('shows the same with half of its pieces separated', async () => {
    const model = readRegistryModel(path);
    const pieces = listPieces(model).filter(({ material }) => material === 0);
    const half = pieces.filter((_, index) => index % 2 === 0).map(({ piece }) => piece);
    const { glb, reports } = await repairBytes(model, [separate([{ name: 'half', pieces: half }], '/materials/0')]);
    expect(reports[0]!.figures.byId).toBe(half.length);
    const [was, is] = [await listWorldTriangles(model), await listWorldTriangles(glb)];
    expect(countUnmatched(was, is, { off: 1e-6, materials: false })).toBe(0);
    const before = new Set((await listValidatorErrors(model)).map((error) => error.split(' ')[0]));
    expect((await listValidatorErrors(glb)).filter((error) => !before.has(error.split(' ')[0]!))).toEqual([]);
  });
});

function coloursOf(bytes: Uint8Array): Promise<readonly Piece[]> {
  const { json, bin } = readGlb(bytes);
  return colourPieces({ json, bin }, findPieces({ json, bin }, listSceneNodes(json)));
}
