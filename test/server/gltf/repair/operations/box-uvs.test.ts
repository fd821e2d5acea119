import { Document, type Node } from '@gltf-transform/core';
import {
  EXTMeshoptCompression,
  KHRDracoMeshCompression,
  KHRMeshQuantization,
  KHRTextureTransform,
} from '@gltf-transform/extensions';
import { quantize } from '@gltf-transform/functions';
import { describe, expect, it } from 'vitest';
import type { Repair } from '../../../../../server/core/repair/repair.ts';
import { addTexture } from '../../../../support/build-model.ts';
import { readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { addSolid, makeCube, makeGrid, type Solid } from '../../../../support/make-solid.ts';
import { refusalOf } from '../../../../support/refusal.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { surveyBytes } from '../../../../support/survey.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { listWorldTriangles, type WorldTriangle } from '../../../../support/world-triangles.ts';

// World triangles are read by glTF-Transform, files judged by the Khronos validator; how large a cube is on its six sides,
// and what of a ball faces each, is geometry.

const write = async (document: Document) => (await createIo()).writeBinary(document);
const BOX = { repair: 'box-uvs', materials: ['part'] } as const satisfies Repair;

interface Given {
  readonly solid?: Solid;
  readonly uvs?: boolean;
  readonly more?: (document: Document, node: Node) => void | Promise<void>;
}

async function makeModel({ solid = weld(makeCube(1)), uvs = false, more }: Given = {}): Promise<Document> {
  const document = new Document();
  const node = addSolid(document, 'part', solid, document.createMaterial('part'));
  const primitive = node.getMesh()!.listPrimitives()[0]!;
  if (!uvs) primitive.setAttribute('TEXCOORD_0', null);
  await more?.(document, node);
  return document;
}

/** Vertices of the same place made one. */
function weld({ positions, uvs, indices }: Solid): Solid {
  const places = new Map<string, number>();
  const first: number[] = [];
  const to = Array.from({ length: positions.length / 3 }, (_, vertex) => {
    const key = positions.slice(vertex * 3, vertex * 3 + 3).join(' ');
    if (!places.has(key)) {
      places.set(key, places.size);
      first.push(vertex);
    }
    return places.get(key)!;
  });
  return {
    positions: Float32Array.from(first.flatMap((vertex) => [...positions.slice(vertex * 3, vertex * 3 + 3)])),
    uvs: Float32Array.from(first.flatMap((vertex) => [...uvs.slice(vertex * 2, vertex * 2 + 2)])),
    indices: indices.map((vertex) => to[vertex]!),
  };
}

/** By triangle, its area in the scene over its area in UV; below 0 where the UVs are mirrored as seen from outside. */
function listDensities(triangles: readonly WorldTriangle[]): number[] {
  return triangles.map(({ corners: [a, b, c] }) => {
    const [p, q] = [b!, c!].map((corner) => [0, 1, 2].map((k) => corner[k]! - a![k]!)) as [number[], number[]];
    const normal = [0, 1, 2].map((k) => p[(k + 1) % 3]! * q[(k + 2) % 3]! - p[(k + 2) % 3]! * q[(k + 1) % 3]!);
    const flat = (b![6]! - a![6]!) * (c![7]! - a![7]!) - (c![6]! - a![6]!) * (b![7]! - a![7]!);
    return Math.hypot(...normal) / -flat;
  });
}

const strip = (triangles: readonly WorldTriangle[]) =>
  triangles.map(({ material, corners }) => ({
    material,
    corners: corners.map((corner) => [...corner.slice(0, 6), ...corner.slice(8)]),
  }));

describe('box-uvs', () => {
  it('lays a cube of a metre at one unit to the metre on all six sides, and moves nothing', async () => {
    const source = await write(await makeModel());
    const { glb, reports } = await repairBytes(source, [BOX]);
    expect(await listValidatorErrors(glb)).toEqual([]);
    const triangles = await listWorldTriangles(glb);
    expect(listDensities(triangles).map((density) => Math.round(density * 1e6) / 1e6)).toEqual(new Array(12).fill(1));
    expect(strip(triangles)).toEqual(strip(await listWorldTriangles(source)));
    expect((await surveyBytes(glb)).survey.materials[0]!.metresPerUv).toBeCloseTo(1, 6);
    expect(reports[0]).toMatchObject({
      outcome: 'done',
      touchesGeometry: true,
      figures: { primitives: 1, triangles: 12, vertices: 24, verticesAdded: 16, tangentsDropped: 0, meshesCopied: 0 },
    });
    expect(reports[0]!.message).toContain('Dyeworks doubled 16 vertices');
  });

  it('is the same file for the same model', async () => {
    const source = await write(await makeModel());
    const [first, second] = [await repairBytes(source, [BOX]), await repairBytes(source, [BOX])];
    expect(first.glb.equals(second.glb)).toBe(true);
  });

  it.each([
    [0.001, 1000],
    [1, 2.5],
  ])('counts metres of the scene, whatever a node of scale %d is drawn in', async (scale, size) => {
    const document = await makeModel({
      solid: weld(makeCube(size)),
      more: (_, node) => void node.setScale([scale, scale, scale]).setTranslation([3, 1, -2]),
    });
    const { glb } = await repairBytes(await write(document), [{ ...BOX, metresPerUnit: 0.5 }]);
    for (const density of listDensities(await listWorldTriangles(glb))) expect(density).toBeCloseTo(0.25, 4);
  });

  it('lays a mirrored part as it is seen, not mirrored', async () => {
    const document = await makeModel({ more: (_, node) => void node.setScale([-1, 1, 1]) });
    const { glb } = await repairBytes(await write(document), [BOX]);
    for (const density of listDensities(await listWorldTriangles(glb))) expect(density).toBeCloseTo(1, 6);
  });

  it('keeps the normals of a ball where it doubles its vertices, and takes its tangents off', async () => {
    const ball = makeGrid(16, 32, (u, v) => {
      const [a, b] = [2 * Math.PI * u, Math.PI * v];
      return [Math.sin(b) * Math.cos(a), Math.cos(b), -Math.sin(b) * Math.sin(a)];
    });
    const source = await write(
      await makeModel({
        solid: ball,
        uvs: true,
        more(document, node) {
          const accessor = (type: 'VEC3' | 'VEC4', array: Float32Array<ArrayBuffer>) =>
            document.createAccessor().setType(type).setArray(array).setBuffer(document.getRoot().listBuffers()[0]!);
          const count = ball.positions.length / 3;
          node
            .getMesh()!
            .listPrimitives()[0]!
            .setAttribute('NORMAL', accessor('VEC3', ball.positions.slice()))
            .setAttribute(
              'TANGENT',
              accessor(
                'VEC4',
                new Float32Array(count * 4).map((_, i) => (i % 4 === 0 || i % 4 === 3 ? 1 : 0)),
              ),
            )
            .setAttribute('_MARK', accessor('VEC3', ball.positions.slice()));
        },
      }),
    );
    const { glb, reports } = await repairBytes(source, [BOX]);
    expect(reports[0]!.figures).toMatchObject({ tangentsDropped: 1 });
    expect(reports[0]!.message).toContain('removed the tangents of 1 part');
    const [before, after] = [await listWorldTriangles(source), await listWorldTriangles(glb)];
    expect(strip(after)).toEqual(strip(before));
    const primitive = (await (await createIo()).readBinary(glb)).getRoot().listMeshes()[0]!.listPrimitives()[0]!;
    expect(primitive.listSemantics().sort()).toEqual(['NORMAL', 'POSITION', 'TEXCOORD_0', '_MARK']);
    expect(primitive.getAttribute('_MARK')!.getArray()).toEqual(primitive.getAttribute('POSITION')!.getArray());
    // no face leans more than the corner of a cube does, whose cosine is 1/√3
    for (const density of listDensities(after)) {
      if (!Number.isFinite(density)) continue;
      expect(density).toBeGreaterThan(1 - 1e-3);
      expect(density).toBeLessThan(Math.sqrt(3) + 0.05);
    }
  });

  it('leaves UVs alone that nobody named, and fills in what has none, or none of any area', async () => {
    const document = await makeModel({
      more(document) {
        addSolid(document, 'laid', makeCube(1), document.createMaterial('laid'));
        const flat = makeCube(1);
        addSolid(document, 'flat', { ...flat, uvs: flat.uvs.map(() => 0.5) }, document.createMaterial('flat'));
      },
    });
    const source = await write(document);
    const { glb, reports } = await repairBytes(source, [{ repair: 'box-uvs', metresPerUnit: 0.5 }]);
    expect(reports[0]!.figures).toMatchObject({ primitives: 2 });
    const of = async (bytes: Uint8Array, name: string) =>
      (await listWorldTriangles(bytes)).filter(({ material }) => material === name);
    expect(await of(glb, 'laid')).toEqual(await of(source, 'laid'));
    for (const name of ['part', 'flat']) {
      for (const density of listDensities(await of(glb, name))) expect(density).toBeCloseTo(0.25, 6);
    }
    const again = await repairBytes(glb, [{ repair: 'box-uvs' }]);
    expect(again.reports[0]).toMatchObject({ outcome: 'nothing-to-do' });
  });

  it('asks before it moves the maps a part has, and does not for maps it could not show', async () => {
    const textured = (uvs: boolean) =>
      makeModel({
        uvs,
        more: async (document) => {
          const texture = await addTexture(document, 'own', 3);
          document.getRoot().listMaterials()[0]!.setNormalTexture(texture).setBaseColorTexture(texture);
        },
      });
    const source = await write(await textured(true));
    const refused = await refusalOf(() => repairBytes(source, [BOX]));
    expect(refused).toMatchObject({
      code: 'repair-would-lose',
      more: { findings: ['the placement of 2 maps of “part”'] },
    });
    const { reports, glb } = await repairBytes(source, [{ ...BOX, accept: true }]);
    expect(reports[0]).toMatchObject({ outcome: 'done', losses: ['the placement of 2 maps of “part”'] });
    expect(await listValidatorErrors(glb)).toEqual([]);
    const bare = await write(await textured(false));
    expect((await repairBytes(bare, [BOX])).reports[0]).toMatchObject({ outcome: 'done', losses: [] });
  });

  // glTF 2.0 §3.7.2.1: sets are numbered from 0 without a gap
  it('lays the set of UVs that finishes are laid by anew, keeps others, and drops what the map’s transform said', async () => {
    const document = await makeModel({
      uvs: true,
      more: async (document, node) => {
        const primitive = node.getMesh()!.listPrimitives()[0]!;
        primitive.setAttribute('TEXCOORD_1', primitive.getAttribute('TEXCOORD_0')!.clone());
        const material = primitive.getMaterial()!;
        material.setBaseColorTexture(await addTexture(document, 'own', 3, 8));
        material.setOcclusionTexture(await addTexture(document, 'shade', 4, 8));
        const transform = document.createExtension(KHRTextureTransform).createTransform();
        transform.setScale([2, -2]).setRotation(1).setTexCoord(1);
        material.getBaseColorTextureInfo()!.setExtension('KHR_texture_transform', transform);
      },
    });
    const source = await write(document);
    expect((await surveyBytes(source)).survey.materials[0]!.lay).toMatchObject({ texCoord: 1 });
    const { glb, reports } = await repairBytes(source, [{ ...BOX, accept: true }]);
    expect(reports[0]).toMatchObject({ losses: ['the placement of 1 map of “part”'] });
    expect(await listValidatorErrors(glb)).toEqual([]);
    const { json } = readGlb(glb);
    expect(json.materials![0]!.pbrMetallicRoughness!.baseColorTexture).toEqual({ index: 0, texCoord: 1 });
    expect((await surveyBytes(glb)).survey.materials[0]!.lay).toEqual({
      texCoord: 1,
      metresPerU: expect.closeTo(1, 6),
      metresPerV: expect.closeTo(1, 6),
      turnDegrees: 0,
    });
    const first = (triangles: readonly WorldTriangle[]) =>
      triangles.map(({ corners }) => corners.map((c) => c.slice(6)));
    expect(first(await listWorldTriangles(glb))).toEqual(first(await listWorldTriangles(source)));
  });

  it('gives nodes that stand turned or scaled otherwise meshes of their own, and shares among the others', async () => {
    const document = await makeModel({
      more(document, node) {
        const scene = document.getRoot().listScenes()[0]!;
        const add = (name: string) => {
          const twin = document.createNode(name).setMesh(node.getMesh());
          scene.addChild(twin);
          return twin;
        };
        add('beside').setTranslation([4, 0, 0]);
        add('larger').setScale([2, 2, 2]).setTranslation([0, 4, 0]);
        add('larger too').setScale([2, 2, 2]).setTranslation([0, 8, 0]);
        add('turned').setRotation([0, Math.SQRT1_2, 0, Math.SQRT1_2]).setTranslation([8, 0, 0]);
      },
    });
    const { glb, reports } = await repairBytes(await write(document), [BOX]);
    expect(reports[0]!.figures).toMatchObject({ meshesCopied: 2, primitives: 3 });
    const { nodes } = readGlb(glb).json;
    expect(nodes!.map(({ mesh }) => mesh)).toEqual([0, 0, 1, 1, 2]);
    for (const density of listDensities(await listWorldTriangles(glb))) expect(density).toBeCloseTo(1, 6);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it.each(['TRIANGLES', 'TRIANGLE_STRIP', 'TRIANGLE_FAN'] as const)(
    'lays %s, with indices or without',
    async (mode) => {
      for (const indexed of [true, false]) {
        const document = await makeModel({
          more(document, node) {
            const primitive = node.getMesh()!.listPrimitives()[0]!;
            const modes = { TRIANGLES: 4, TRIANGLE_STRIP: 5, TRIANGLE_FAN: 6 } as const;
            primitive.setMode(modes[mode]);
            if (indexed) return;
            const position = primitive.getAttribute('POSITION')!;
            const order = [...primitive.getIndices()!.getArray()!];
            const flat = order.flatMap((vertex) => position.getElement(vertex, []));
            primitive.setIndices(null);
            primitive.setAttribute(
              'POSITION',
              document
                .createAccessor()
                .setType('VEC3')
                .setArray(new Float32Array(flat))
                .setBuffer(document.getRoot().listBuffers()[0]!),
            );
          },
        });
        const source = await write(document);
        const { glb } = await repairBytes(source, [BOX]);
        expect(await listValidatorErrors(glb)).toEqual([]);
        expect(strip(await listWorldTriangles(glb))).toEqual(strip(await listWorldTriangles(source)));
      }
    },
  );

  it('takes indices of two bytes or four as the vertices need them', async () => {
    const large = makeGrid(220, 300, (u, v) => [u, Math.sin(u * 40) * Math.sin(v * 40) * 0.05, v]);
    const small = await repairBytes(await write(await makeModel()), [BOX]);
    const { glb } = await repairBytes(await write(await makeModel({ solid: large })), [BOX]);
    const typeOf = (bytes: Uint8Array) => {
      const { json } = readGlb(bytes);
      return json.accessors![json.meshes![0]!.primitives[0]!.indices!]!.componentType;
    };
    expect(typeOf(small.glb)).toBe(5123);
    expect(typeOf(glb)).toBe(5125);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('keeps quantised geometry quantised to the bit, and unpacks what is compressed', async () => {
    const quantised = await makeModel({ solid: weld(makeCube(1)) });
    quantised.createExtension(KHRMeshQuantization).setRequired(true);
    await quantised.transform(quantize());
    const source = await write(quantised);
    const { glb } = await repairBytes(source, [BOX]);
    const { json } = readGlb(glb);
    const { POSITION } = json.meshes![0]!.primitives[0]!.attributes;
    expect(json.accessors![POSITION!]!.componentType).toBe(
      readGlb(source).json.accessors!.find(({ min }) => min)!.componentType,
    );
    expect(strip(await listWorldTriangles(glb))).toEqual(strip(await listWorldTriangles(source)));
    expect(await listValidatorErrors(glb)).toEqual([]);
    for (const extension of [KHRDracoMeshCompression, EXTMeshoptCompression]) {
      const packed = await makeModel({ solid: makeGrid(8, 8, (u, v) => [u, Math.sin(u * 6), v]) });
      packed.createExtension(extension as typeof KHRDracoMeshCompression).setRequired(true);
      const bytes = await write(packed);
      expect(readGlb(bytes).json.extensionsRequired).toContain(extension.EXTENSION_NAME);
      const unpacked = await repairBytes(bytes, [BOX]);
      expect(unpacked.reports[0]!.message).toContain('unpacked compressed geometry');
      expect(readGlb(unpacked.glb).json.extensionsUsed ?? []).not.toContain(extension.EXTENSION_NAME);
      expect(strip(await listWorldTriangles(unpacked.glb))).toEqual(strip(await listWorldTriangles(bytes)));
      expect(await listValidatorErrors(unpacked.glb)).toEqual([]);
    }
  });
});

describe('box-uvs does not fit', () => {
  const refuse = async (document: Document, repair: Repair = BOX) => {
    const refused = await refusalOf(async () => repairBytes(await write(document), [repair]));
    expect(refused.code).toBe('repair-unfit');
    return refused.more.detail;
  };

  it('what is skinned or morphing, and says how many parts', async () => {
    const skinned = await makeModel({
      more(document, node) {
        const count = node.getMesh()!.listPrimitives()[0]!.getAttribute('POSITION')!.getCount();
        const buffer = document.getRoot().listBuffers()[0]!;
        const accessor = (array: Uint8Array<ArrayBuffer> | Float32Array<ArrayBuffer>) =>
          document.createAccessor().setType('VEC4').setArray(array).setBuffer(buffer);
        const joint = document.createNode('joint');
        document.getRoot().listScenes()[0]!.addChild(joint);
        node
          .setSkin(document.createSkin().addJoint(joint))
          .getMesh()!
          .listPrimitives()[0]!
          .setAttribute('JOINTS_0', accessor(new Uint8Array(count * 4)))
          .setAttribute('WEIGHTS_0', accessor(new Float32Array(count * 4).map((_, i) => (i % 4 === 0 ? 1 : 0))));
      },
    });
    expect(await refuse(skinned)).toContain('1 part is skinned');
    expect(await refuse(skinned, { repair: 'box-uvs' })).toContain('Choose the materials of other parts');
    const morphing = await makeModel({
      more(document, node) {
        const primitive = node.getMesh()!.listPrimitives()[0]!;
        const position = primitive.getAttribute('POSITION')!;
        primitive.addTarget(document.createPrimitiveTarget().setAttribute('POSITION', position.clone()));
      },
    });
    expect(await refuse(morphing)).toContain('1 part has morph targets');
  });

  it('materials the model does not have, or no part uses', async () => {
    const document = await makeModel({ more: (document) => void document.createMaterial('unused') });
    expect(await refuse(document, { ...BOX, materials: ['Cloth'] })).toContain('no material “Cloth”');
    expect(await refuse(document, { ...BOX, materials: ['unused'] })).toContain('No part of the scene uses “unused”');
  });
});
