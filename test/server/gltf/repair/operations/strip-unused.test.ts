import { validateBytes } from 'gltf-validator';
import { describe, expect, it } from 'vitest';
import { TRIANGLE_BIN, triangleGlb, triangleJson } from '../../../../support/bad-models.ts';
import { listReadRanges, makeGlb, readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { makeRichModels } from '../../../../support/odd-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { makeRichModel } from '../../../../support/rich-model.ts';
import { surveyBytes } from '../../../../support/survey.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { countUnmatched, listWorldTriangles } from '../../../../support/world-triangles.ts';

// Unused objects are what the Khronos validator calls UNUSED_OBJECT; world triangles are read by glTF-Transform.

const strip = (bytes: Uint8Array) => repairBytes(bytes, [{ repair: 'strip-unused' }], 'lenient');
const NOTHING = { nodes: 0, meshes: 0, materials: 0, textures: 0, images: 0, accessors: 0, bufferViews: 0, bytes: 0 };

async function listUnusedObjects(bytes: Uint8Array): Promise<string[]> {
  const report = (await validateBytes(bytes, { maxIssues: 0, writeTimestamp: false })) as {
    issues: { messages: { code: string; pointer: string }[] };
  };
  const { messages } = report.issues;
  return messages.filter(({ code }) => code === 'UNUSED_OBJECT').map(({ pointer }) => pointer);
}

/** A triangle that is shown, and one of everything that is not, with bytes no view covers between them. */
function makeCluttered(): Buffer {
  const json = triangleJson({
    nodes: [{ mesh: 0 }, { mesh: 1, camera: 0, children: [2] }, { name: 'empty' }],
    materials: [{ name: 'Unused' }, { name: 'Seat' }, { name: 'Used in a variant' }],
    meshes: [
      {
        primitives: [
          {
            attributes: { POSITION: 1 },
            material: 1,
            extensions: { KHR_materials_variants: { mappings: [{ material: 2, variants: [0] }] } },
          },
        ],
      },
      { primitives: [{ attributes: { POSITION: 0 }, material: 0 }] },
    ],
    accessors: [0, 1, 2].map((bufferView) => ({
      bufferView: bufferView === 2 ? 0 : bufferView,
      componentType: 5126,
      count: 3,
      type: 'VEC3',
      min: [0, 0, 0],
      max: [1, 1, 0],
    })),
    bufferViews: [
      { buffer: 0, byteLength: 36 },
      { buffer: 0, byteOffset: 100, byteLength: 36 },
    ],
    buffers: [{ byteLength: 200 }],
    cameras: [{ type: 'perspective', perspective: { yfov: 1, znear: 0.1 } }],
    textures: [{ source: 0, sampler: 0 }],
    samplers: [{}],
    images: [{ uri: 'data:image/png;base64,iVBORw0KGgo=' }],
    skins: [{ joints: [2] }],
    animations: [
      { channels: [{ sampler: 0, target: { node: 1, path: 'scale' } }], samplers: [{ input: 2, output: 2 }] },
      {
        channels: [
          { sampler: 0, target: { node: 1, path: 'scale' } },
          { sampler: 1, target: { node: 0, path: 'scale' } },
        ],
        samplers: [
          { input: 2, output: 2 },
          { input: 3, output: 1 },
        ],
      },
    ],
    extensionsUsed: ['KHR_materials_variants'],
    extensions: { KHR_materials_variants: { variants: [{ name: 'Other' }] } },
  }) as { accessors: object[]; bufferViews: object[] };
  json.bufferViews.push({ buffer: 0, byteOffset: 160, byteLength: 12 }, { buffer: 0, byteOffset: 136, byteLength: 24 });
  json.accessors.push({ bufferView: 2, componentType: 5126, count: 3, type: 'SCALAR', min: [0], max: [2] });
  const bin = Buffer.alloc(200, 0xaa);
  for (const at of [0, 100]) TRIANGLE_BIN.copy(bin, at);
  bin.set(new Uint8Array(new Float32Array([0, 1, 2]).buffer), 160);
  return makeGlb(json, bin);
}

describe('strip-unused', () => {
  it('takes out what no scene leads to, and the bytes nothing reads', async () => {
    const source = makeCluttered();
    const { glb, reports, materialOrigins } = await strip(source);
    const { json } = readGlb(glb);
    expect(json.nodes).toEqual([{ mesh: 0 }]);
    expect(json.materials).toEqual([{ name: 'Seat' }, { name: 'Used in a variant' }]);
    expect(json.meshes![0]!.primitives[0]).toMatchObject({ material: 0 });
    expect(json.animations).toHaveLength(1);
    expect(json.animations![0]!.channels).toEqual([{ sampler: 0, target: { node: 0, path: 'scale' } }]);
    for (const gone of ['cameras', 'textures', 'samplers', 'images', 'skins']) expect(json).not.toHaveProperty(gone);
    expect(materialOrigins).toEqual([1, 2]);
    expect((await surveyBytes(glb)).survey.unused).toEqual(NOTHING);
    expect(await listUnusedObjects(glb)).toEqual([]);
    // 36 + 12 of the accessors that stay
    expect(readGlb(glb).bin.length).toBe(48);
    const [report] = reports;
    expect(report).toMatchObject({
      outcome: 'done',
      figures: { nodes: 2, meshes: 1, materials: 1, textures: 1, images: 1, skins: 1, cameras: 1, channels: 2 },
    });
    expect(report!.figures.bytes).toBeGreaterThanOrEqual(64 + 36);
  });

  it('leaves what is shown as it was, byte for byte', async () => {
    for (const [name, source] of Object.entries(await makeRichModels())) {
      if (name.startsWith('with an extension')) continue;
      const { glb, reports } = await strip(source);
      expect(reports[0]!.outcome, name).toBe('done');
      expect(await listValidatorErrors(glb), name).toEqual([]);
      expect((await surveyBytes(glb)).survey.unused, name).toEqual(NOTHING);
      const [was, is] = [await listWorldTriangles(source), await listWorldTriangles(glb)];
      expect(is).toHaveLength(was.length);
      expect(countUnmatched(was, is, { off: 0 }), name).toBe(0);
      const before = new Set(listReadRanges(readGlb(source)).map(({ sha256 }) => sha256));
      for (const { sha256 } of listReadRanges(readGlb(glb))) expect(before.has(sha256)).toBe(true);
      const again = await strip(glb);
      expect(again.reports[0]!.outcome).toBe('nothing-to-do');
      expect(again.glb.equals(glb)).toBe(true);
    }
  });

  it('can stand in the middle of a chain: later repairs find all in its new place', async () => {
    const source = Buffer.from(await (await createIo()).writeBinary(await makeRichModel()));
    const chain = ['unshare-mesh', 'strip-unused', 'bake-transforms', 'strip-unused'] as const;
    const { glb, reports } = await repairBytes(
      source,
      chain.map((repair) => ({ repair })),
      'lenient',
    );
    expect(reports.map(({ outcome }) => outcome)).toEqual(['done', 'done', 'done', 'nothing-to-do']);
    expect(await listValidatorErrors(glb)).toEqual([]);
    const [was, is] = [await listWorldTriangles(source), await listWorldTriangles(glb)];
    expect(countUnmatched(was, is, { off: 1e-5 })).toBe(0);
    expect((await surveyBytes(glb)).survey.unused).toEqual(NOTHING);
  });

  it('is unfit with an extension nobody knows', async () => {
    const { reports } = await strip(triangleGlb({ extensionsUsed: ['ACME_hinges'], materials: [{}, {}] }));
    expect(reports[0]!.outcome).toBe('unfit');
    expect(reports[0]!.message).toContain('ACME_hinges');
  });
});

// Lights are referred to by nodes: KhronosGroup/glTF, extensions/2.0/Khronos/KHR_lights_punctual; and by animation
// pointers: KHR_animation_pointer.

const STRIP = [{ repair: 'strip-unused' }] as const;
const lights = [{ type: 'point' }, { type: 'spot', spot: {} }, { type: 'directional' }];
const node = (light: number) => ({ extensions: { KHR_lights_punctual: { light } } });

describe('lights', () => {
  it('that nothing in a scene refers to go, and the others are renumbered', async () => {
    const pointer = { pointer: '/extensions/KHR_lights_punctual/lights/2/intensity' };
    const source = triangleGlb({
      extensionsUsed: ['KHR_lights_punctual', 'KHR_animation_pointer'],
      extensions: { KHR_lights_punctual: { lights } },
      scenes: [{ nodes: [0, 2] }],
      nodes: [{ mesh: 0 }, node(0), node(1)],
      accessors: [
        { bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 0] },
        { bufferView: 0, componentType: 5126, count: 1, type: 'SCALAR', min: [0], max: [0] },
      ],
      animations: [
        {
          channels: [{ sampler: 0, target: { path: 'pointer', extensions: { KHR_animation_pointer: pointer } } }],
          samplers: [{ input: 1, output: 1 }],
        },
      ],
    });
    const { glb, reports } = await repairBytes(source, STRIP);
    const { json } = readGlb(glb);
    expect(json.extensions!.KHR_lights_punctual!.lights).toEqual([lights[1], lights[2]]);
    expect(json.nodes).toEqual([{ mesh: 0 }, node(0)]);
    expect(json.animations![0]!.channels![0]!.target.extensions!.KHR_animation_pointer!.pointer).toBe(
      '/extensions/KHR_lights_punctual/lights/1/intensity',
    );
    expect(reports[0]!.figures).toMatchObject({ lights: 1, nodes: 1 });
  });

  it('take the extension along when the last goes', async () => {
    const source = triangleGlb({
      extensionsUsed: ['KHR_lights_punctual'],
      extensions: { KHR_lights_punctual: { lights } },
    });
    const { glb, reports } = await repairBytes(source, STRIP);
    expect(readGlb(glb).json.extensions).toBeUndefined();
    expect(readGlb(glb).json.extensionsUsed).toBeUndefined();
    expect(reports[0]!.figures.lights).toBe(3);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });
});

it('a model whose scenes show nothing is not stripped bare', async () => {
  const { reports, glb } = await repairBytes(triangleGlb({ scenes: [{}] }), STRIP, 'lenient');
  expect(reports[0]!.outcome).toBe('unfit');
  expect(readGlb(glb).json.meshes).toHaveLength(1);
});
