import { Document } from '@gltf-transform/core';
import { Box3 } from 'three';
import { GLTFLoader } from 'three/addons/loaders/GLTFLoader.js';
import { describe, expect, it } from 'vitest';
import { editGlb } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { addSolid, makeCube, makeGrid } from '../../../support/make-solid.ts';
import { openInBabylon } from '../../../support/open-in-babylon.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { surveyBytes, surveyDocument } from '../../../support/survey.ts';

const REGISTRY = ['valve-index/left.glb', 'pico-4u/left.glb', 'oculus-touch/left.glb'];

describe('a model of the registry', () => {
  // @webxr-input-profiles/assets 1.0.20 (MIT), opened in three.js and in Babylon.js.
  it.each(REGISTRY)('%s: box as three.js’ Box3 has it, triangles as Babylon.js counts them', async (path) => {
    const bytes = readRegistryModel(path);
    const { survey } = await surveyBytes(bytes);
    // textures are not needed for a box, and there is no canvas here to decode them
    const bare = editGlb(bytes, (json) => {
      json.materials = json.materials?.map(({ name }) => ({ name }));
      delete json.textures;
      delete json.images;
    });
    const buffer = bare.buffer.slice(bare.byteOffset, bare.byteOffset + bare.length) as ArrayBuffer;
    const { scene } = await new GLTFLoader().parseAsync(buffer, '');
    scene.updateMatrixWorld(true);
    const box = new Box3().setFromObject(scene, true);
    const extent = Math.max(...box.max.toArray().map((value, i) => value - box.min.toArray()[i]!));
    for (const [i, axis] of (['x', 'y', 'z'] as const).entries()) {
      expect(Math.abs(survey.box!.min[i]! - box.min[axis])).toBeLessThan(extent * 1e-5);
      expect(Math.abs(survey.box!.max[i]! - box.max[axis])).toBeLessThan(extent * 1e-5);
    }
    const babylon = await openInBabylon(bytes);
    try {
      expect(survey.counts.triangles).toBe(babylon.countTriangles());
    } finally {
      babylon.close();
    }
  });
});

describe('UVs', () => {
  const plane = (width: number, height: number, scale = 1, shift = 0) => {
    const solid = makeGrid(4, 4, (u, v) => [u * width, v * height, 0]);
    return { ...solid, uvs: solid.uvs.map((value) => value * scale + shift) };
  };
  const measure = async (...solids: ReturnType<typeof plane>[]) => {
    const document = new Document();
    const material = document.createMaterial('m');
    for (const [i, solid] of solids.entries()) addSolid(document, `p${i}`, solid, material);
    return (await surveyDocument(document)).survey.materials[0]!;
  };

  // By the definition of a scale: one unit of UV over a square of a metre is one metre per unit.
  it('of a square laid once over it', async () => {
    const { metresPerUv, uv } = await measure(plane(2, 2));
    expect(metresPerUv).toBeCloseTo(2, 6);
    expect(uv).toMatchObject({ coverage: 1, overlap: 0, outside: 0, pxPerMm: null });
    expect(uv!.stretch).toBeCloseTo(1, 6);
  });

  it('of repeats that run on: what they span, whatever else lies among the vertices', async () => {
    const { uv } = await measure(plane(1, 1, 2, -0.5), plane(1, 1, 0.25, 2));
    expect(uv!.bounds).toEqual({ min: [-0.5, -0.5], max: [2.25, 2.25] });
    const strewn = plane(1, 1);
    const loose = { ...strewn, indices: strewn.indices.slice(0, 3) };
    const used = [...new Set(loose.indices)].map((vertex) => loose.uvs.slice(vertex * 2, vertex * 2 + 2));
    const { uv: few } = await measure(loose);
    expect(few!.bounds!.max[0]).toBe(Math.max(...used.map(([u]) => u!)));
    expect(few!.bounds!.max[1]).toBe(Math.max(...used.map(([, v]) => v!)));
  });

  it('of a cube: each face a whole repeat, six over one another', async () => {
    const document = new Document();
    addSolid(document, 'cube', makeCube(0.25), document.createMaterial('m'));
    const { metresPerUv, uv } = (await surveyDocument(document)).survey.materials[0]!;
    expect(Math.abs(metresPerUv! / 0.25 - 1)).toBeLessThan(1e-6);
    expect(uv).toMatchObject({ coverage: 1, overlap: 1 });
  });

  it('of a torus: half of its surface has more along U, and half less', async () => {
    const solid = makeGrid(32, 64, (u, v) => {
      const ring = 0.5 + 0.1 * Math.cos(2 * Math.PI * v);
      return [ring * Math.cos(2 * Math.PI * u), 0.1 * Math.sin(2 * Math.PI * v), ring * Math.sin(2 * Math.PI * u)];
    });
    const document = new Document();
    addSolid(document, 'torus', solid, document.createMaterial('m'));
    const { lay, metresPerUv, uv } = (await surveyDocument(document)).survey.materials[0]!;
    // at an angle t of the tube u runs 2π(0.5 + 0.1 cos t) m, of an area in proportion: half of it is within the t that has
    // 0.5 t + 0.1 sin t = 0.5 π/2
    let half = Math.PI / 2;
    for (let step = 0; step < 50; step++) half = Math.PI / 2 - 0.2 * Math.sin(half);
    const along = 2 * Math.PI * (0.5 + 0.1 * Math.cos(half));
    const round = 2 * Math.PI * 0.1;
    // rings of 32 corners are a little shorter than circles
    expect(Math.abs(lay.metresPerU / along - 1)).toBeLessThan(0.01);
    expect(Math.abs(lay.metresPerV / round - 1)).toBeLessThan(0.01);
    expect(metresPerUv).toBeCloseTo(Math.sqrt(lay.metresPerU * lay.metresPerV), 9);
    expect(uv!.coverage).toBeCloseTo(1, 3);
    // scaled apart, what is left is u's 0.4 to 0.6
    expect(uv!.stretch).toBeGreaterThan(1);
    expect(uv!.stretch).toBeLessThan(1.25);
    expect(uv!.sizes!.low / Math.sqrt((2 * Math.PI * 0.4) / along)).toBeCloseTo(1, 1);
    expect(uv!.sizes!.high / Math.sqrt((2 * Math.PI * 0.6) / along)).toBeCloseTo(1, 1);
  });

  it('that are drawn out, half used, or outside', async () => {
    // one plane is scaled apart; two that are drawn out across each other cannot be, and each is by the root of 3 × 3
    expect((await measure(plane(3, 1))).uv!.stretch).toBeCloseTo(1, 5);
    expect((await measure(plane(3, 1), plane(1, 3))).uv!.stretch).toBeCloseTo(3, 5);
    expect((await measure(plane(1, 1, 0.5))).uv!.coverage).toBeCloseTo(0.25, 2);
    const both = await measure(plane(1, 1, 0.5), plane(1, 1, 0.5));
    expect(both.uv!.overlap).toBe(1);
    expect((await measure(plane(1, 1, 1, 5))).uv!.outside).toBe(1);
  });

  it('give texels per millimetre by the largest map', async () => {
    const document = new Document();
    const sharp = (await import('sharp')).default;
    const image = await sharp({ create: { width: 64, height: 32, channels: 3, background: '#888' } })
      .png()
      .toBuffer();
    const texture = document.createTexture('t').setImage(new Uint8Array(image)).setMimeType('image/png');
    addSolid(document, 'p', plane(0.1, 0.1), document.createMaterial('m').setBaseColorTexture(texture));
    const { uv } = (await surveyDocument(document)).survey.materials[0]!;
    // 64 px over a repeat of 100 mm
    expect(uv!.pxPerMm).toBeCloseTo(0.64, 6);
  });
});

describe('transforms', () => {
  const find = async (change: (node: import('@gltf-transform/core').Node) => void) => {
    const document = new Document();
    change(addSolid(document, 'part', makeCube(1), document.createMaterial('m')));
    const { transforms } = (await surveyDocument(document)).survey;
    return [transforms.unbaked.count, transforms.negative.count, transforms.uneven.count];
  };
  it('that turn, scale, mirror or stretch are told; a shift is none', async () => {
    expect(await find((node) => node.setTranslation([1, 2, 3]))).toEqual([0, 0, 0]);
    expect(await find((node) => node.setScale([0.01, 0.01, 0.01]))).toEqual([1, 0, 0]);
    expect(await find((node) => node.setRotation([0, Math.SQRT1_2, 0, Math.SQRT1_2]))).toEqual([1, 0, 0]);
    expect(await find((node) => node.setScale([-1, 1, 1]))).toEqual([1, 1, 0]);
    expect(await find((node) => node.setScale([1, 2, 1]))).toEqual([1, 0, 1]);
  });
});

describe('morph targets and skins', () => {
  it('count as they stand by default: a morph by its weight, a skin by its joints', async () => {
    const document = new Document();
    const node = addSolid(document, 'part', makeCube(1), document.createMaterial('m'));
    const primitive = node.getMesh()!.listPrimitives()[0]!;
    const buffer = document.getRoot().listBuffers()[0]!;
    const count = primitive.getAttribute('POSITION')!.getCount();
    const up = document.createAccessor().setType('VEC3').setBuffer(buffer);
    up.setArray(new Float32Array(Array.from({ length: count }, () => [0, 2, 0]).flat()));
    primitive.addTarget(document.createPrimitiveTarget().setAttribute('POSITION', up));
    node.getMesh()!.setWeights([0.5]);
    expect((await surveyDocument(document)).survey.box).toEqual({ min: [0, 1, 0], max: [1, 2, 1] });

    node.getMesh()!.setWeights([0]);
    const joint = document.createNode('joint').setTranslation([0, 0, 7]);
    document.getRoot().listScenes()[0]!.addChild(joint);
    const joints = new Uint8Array(count * 4);
    const weights = new Float32Array(Array.from({ length: count }, () => [1, 0, 0, 0]).flat());
    primitive.setAttribute('JOINTS_0', document.createAccessor().setType('VEC4').setArray(joints).setBuffer(buffer));
    primitive.setAttribute('WEIGHTS_0', document.createAccessor().setType('VEC4').setArray(weights).setBuffer(buffer));
    node.setSkin(document.createSkin().addJoint(joint)).setTranslation([100, 0, 0]);
    // the skinned node's own transform does not count (glTF 2.0 §3.7.3.3)
    const { box } = (await surveyDocument(document)).survey;
    expect(box).toEqual({ min: [0, 0, 7], max: [1, 1, 8] });
  });
});

describe('geometry that cannot be drawn', () => {
  const faults = async (
    change: (json: import('../../../../server/gltf/document/json.ts').GltfJson) => void,
    spoil?: (positions: Float32Array, indices: Uint32Array) => void,
  ) => {
    const document = new Document();
    const cube = makeCube(1);
    spoil?.(cube.positions, cube.indices);
    addSolid(document, 'part', cube, document.createMaterial('m'));
    const bytes = await (await createIo()).writeBinary(document);
    const { survey, pieces } = await surveyBytes(editGlb(bytes, change));
    return { faults: survey.faults, survey, pieces };
  };

  it('is told with a place, and leaves size, area and pieces of the rest', async () => {
    const broken = await faults(
      () => {},
      (positions) => {
        positions[0] = Number.NaN;
        positions[4] = Number.POSITIVE_INFINITY;
      },
    );
    expect(broken.faults).toContainEqual({ fault: 'positions-not-finite', count: 2, where: '/accessors/0' });
    expect(broken.survey.materials[0]!.areaM2).toBeGreaterThan(4);
    expect(Number.isFinite(broken.pieces[0]!.box.max[0])).toBe(true);

    const outside = await faults(
      () => {},
      (_, indices) => {
        indices[0] = 4_000_000_000;
      },
    );
    expect(outside.faults).toContainEqual(
      expect.objectContaining({ fault: 'index-out-of-range', count: 1, where: '/meshes/0/primitives/0/indices' }),
    );

    const flat = await faults(
      () => {},
      (_, indices) => {
        indices[1] = indices[0]!;
      },
    );
    expect(flat.faults).toEqual([{ fault: 'zero-area', count: 1, where: '/meshes/0/primitives/0' }]);

    const points = await faults((json) => {
      json.meshes![0]!.primitives[0]!.mode = 0;
    });
    expect(points.faults).toEqual([{ fault: 'points-or-lines', count: 1, where: '/meshes/0/primitives/0' }]);
    expect(points.survey.counts.triangles).toBe(0);

    const none = await faults((json) => {
      delete json.meshes![0]!.primitives[0]!.attributes.POSITION;
    });
    expect(none.faults).toEqual([{ fault: 'empty-primitive', count: 1, where: '/meshes/0/primitives/0' }]);
  });

  it('does not stand in the way of a million nodes, nor of a thousand levels', async () => {
    const document = new Document();
    addSolid(document, 'part', makeCube(1), document.createMaterial('m'));
    const bytes = await (await createIo()).writeBinary(document);
    const many = editGlb(bytes, (json) => {
      json.nodes = [...json.nodes!, ...Array.from({ length: 1_000_000 }, () => ({}))];
      json.scenes![0]!.nodes = Array.from(json.nodes.keys());
    });
    expect((await surveyBytes(many)).survey.counts.nodes).toBe(1_000_001);
    const deep = editGlb(bytes, (json) => {
      json.nodes = [
        json.nodes![0]!,
        ...Array.from({ length: 1000 }, (_, i) => ({ children: [i], translation: [0, 0.001, 0] })),
      ];
      json.scenes![0]!.nodes = [1000];
    });
    expect((await surveyBytes(deep)).survey.box!.min[1]).toBeCloseTo(1, 9);
  });
});
