import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { quantize } from '@gltf-transform/functions';
import { describe, expect, it } from 'vitest';
import type { Repair } from '../../../../../server/core/repair/repair.ts';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { addPart, createDocument } from '../../../../support/build-model.ts';
import { editGlb, readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { measureInThree } from '../../../../support/measure-in-three.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { makeRichModel } from '../../../../support/rich-model.ts';
import { surveyBytes } from '../../../../support/survey.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { countUnmatched, listWorldTriangles } from '../../../../support/world-triangles.ts';

// Transforms and skins: glTF 2.0 §3.5.3, §3.7.3. Boxes are measured by three.js (Box3), files judged by the Khronos
// validator, triangles read by glTF-Transform.

type Scale = Extract<Repair, { repair: 'scale' }>;
const scale = (bytes: Uint8Array, more: Omit<Scale, 'repair'>) => repairBytes(bytes, [{ repair: 'scale', ...more }]);
const ask = async (bytes: Uint8Array, more: Omit<Scale, 'repair'>) =>
  (await repairBytes(bytes, [{ repair: 'scale', ...more }], 'lenient')).reports[0]!;

/** Every face of the box is `factor` times as far from the origin, to single precision. */
async function expectScaled(before: Uint8Array, after: Uint8Array, factor: number): Promise<void> {
  const [was, is] = [await measureInThree(before), await measureInThree(after)];
  const extent = Math.max(...was.max.map((value, i) => value - was.min[i]!)) * factor;
  for (const end of ['min', 'max'] as const) {
    is[end].forEach((value, axis) => {
      expect(Math.abs(value - was[end][axis]! * factor), `${end} ${axis}`).toBeLessThan(extent * 1e-5);
    });
  }
  expect(await listValidatorErrors(after)).toEqual(await listValidatorErrors(before));
}

async function makePacked(how: 'quantised' | 'meshopt' | 'Draco') {
  const document = createDocument();
  const material = document.createMaterial('cloth');
  addPart(document, { name: 'sheet', material });
  addPart(document, { name: 'tilted', material });
  const [, tilted] = document.getRoot().listScenes()[0]!.listChildren();
  tilted!.setTranslation([3, 1, 0]).setRotation([0, 0.6, 0, 0.8]);
  tilted!.addChild(document.createNode('below').setMesh(tilted!.getMesh()).setTranslation([0, 2, 0]));
  if (how === 'quantised') await document.transform(quantize());
  if (how === 'meshopt') document.createExtension(EXTMeshoptCompression).setRequired(true);
  if (how === 'Draco') document.createExtension(KHRDracoMeshCompression).setRequired(true);
  return Buffer.from(await (await createIo()).writeBinary(document));
}

describe('scale', () => {
  it.each(['oculus-go/none.glb', 'pico-4u/left.glb', 'generic-hand/left.glb'])(
    'of %s (registry; the hand is skinned) moves each side of the box by the factor',
    async (path) => {
      const source = readRegistryModel(path);
      const { glb, reports } = await scale(source, { factor: 100 });
      await expectScaled(source, glb, 100);
      const { json } = readGlb(glb);
      const scalesOf = ({ nodes }: typeof json) => nodes!.map((node) => node.scale);
      expect(scalesOf(json)).toEqual(scalesOf(readGlb(source).json));
      expect(reports[0]!.touchesGeometry).toBe(true);
      // what was replaced is out of the file
      expect(glb.length / source.length).toBeLessThan(1.01);
    },
  );

  it('to a height comes out that high, and has nothing to do there', async () => {
    const source = readRegistryModel('oculus-go/none.glb');
    const { glb, reports } = await scale(source, { toHeightMm: 820 });
    const { min, max } = await measureInThree(glb);
    expect((max[1]! - min[1]!) * 1000).toBeCloseTo(820, 2);
    expect((await surveyBytes(glb)).survey.size!.heightMm).toBeCloseTo(820, 2);
    expect(reports[0]!.figures.heightMmAfter).toBe(820);
    expect((await ask(glb, { toHeightMm: 820 })).outcome).toBe('nothing-to-do');
  });

  it('there and back is the same to single precision', async () => {
    const source = readRegistryModel('pico-4u/left.glb');
    const { glb } = await scale((await scale(source, { factor: 25.4 })).glb, { factor: 1 / 25.4 });
    await expectScaled(source, glb, 1);
  });

  it('reaches every length: deltas, matrices, animations, bind matrices, instances, volumes, lights, cameras', async () => {
    const source = Buffer.from(await (await createIo()).writeBinary(await makeRichModel()));
    const { glb } = await scale(source, { factor: 10 });
    expect(await listValidatorErrors(glb)).toEqual([]);
    const [was, is] = await Promise.all([source, glb].map(async (bytes) => (await createIo()).readBinary(bytes)));
    const read = (document: NonNullable<typeof was>) => {
      const root = document.getRoot();
      const pane = root.listMeshes().find((mesh) => mesh.getName() === 'Pane')!;
      const animation = root.listAnimations()[0]!;
      const node = (name: string) => root.listNodes().find((one) => one.getName() === name)!;
      const output = (path: string) => {
        const channel = animation.listChannels().find((one) => one.getTargetPath() === path)!;
        return [...channel.getSampler()!.getOutput()!.getArray()!];
      };
      const studs = node('Studs').getExtension('EXT_mesh_gpu_instancing') as unknown as {
        getAttribute(name: string): { getArray(): Float32Array };
      };
      const volume = root
        .listMaterials()
        .find((one) => one.getName() === 'Glass')!
        .getExtension('KHR_materials_volume');
      const { getThicknessFactor, getAttenuationDistance } = volume as unknown as Record<string, () => number>;
      const light = node('Bulb').getExtension('KHR_lights_punctual') as unknown as { getRange(): number };
      const camera = root.listCameras()[0]!;
      return {
        lengths: [
          ...pane.listPrimitives()[0]!.listTargets()[0]!.getAttribute('POSITION')!.getArray()!,
          ...node('Swing').getTranslation(),
          ...output('translation'),
          ...[...root.listSkins()[0]!.getInverseBindMatrices()!.getArray()!].slice(12, 15),
          ...studs.getAttribute('TRANSLATION').getArray(),
          getThicknessFactor!.call(volume),
          getAttenuationDistance!.call(volume),
          light.getRange(),
          camera.getZNear(),
          camera.getZFar()!,
        ],
        others: [
          ...output('weights'),
          ...[...root.listSkins()[0]!.getInverseBindMatrices()!.getArray()!].slice(0, 12),
          ...root.listNodes().flatMap((one) => [...one.getScale(), ...one.getRotation()]),
          camera.getYFov(),
        ],
      };
    };
    const [before, after] = [read(was!), read(is!)];
    after.lengths.forEach((value, i) => {
      expect(value).toBeCloseTo(before.lengths[i]! * 10, 4);
    });
    expect(after.others).toEqual(before.others);
  });

  it('scales what several read once, and a matrix node by its translation', async () => {
    const matrix = [0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1, 0, 5, 6, 7, 1];
    const source = triangleGlb({
      scenes: [{ nodes: [0, 1] }],
      nodes: [{ mesh: 0 }, { mesh: 1, matrix }],
      meshes: [
        { primitives: [{ attributes: { POSITION: 0 } }, { attributes: { POSITION: 0 } }] },
        { primitives: [{ attributes: { POSITION: 0 } }] },
      ],
    });
    const { glb } = await scale(source, { factor: 2 });
    await expectScaled(source, glb, 2);
    const { json } = readGlb(glb);
    expect(json.accessors).toHaveLength(1);
    expect(json.nodes![1]!.matrix).toEqual([...matrix.slice(0, 12), 10, 12, 14, 1]);
  });

  it.each(['quantised', 'meshopt', 'Draco'] as const)(
    'of %s geometry goes on the node, and unpacks nothing',
    async (how) => {
      const source = await makePacked(how);
      const { glb, reports } = await scale(source, { factor: 0.01 });
      const [was, is] = [await listWorldTriangles(source), await listWorldTriangles(glb)];
      const wanted = was.map(({ material, corners }) => ({
        material,
        corners: corners.map((corner) => corner.map((value, i) => (i < 3 ? value * 0.01 : value))),
      }));
      expect(is).toHaveLength(wanted.length);
      expect(countUnmatched(wanted, is, { off: 1e-6 })).toBe(0);
      expect(await listValidatorErrors(glb)).toEqual([]);
      expect(readGlb(glb).json.accessors).toEqual(readGlb(source).json.accessors);
      expect(glb.length / source.length).toBeLessThan(1.1);
      expect(reports[0]).toMatchObject({ outcome: 'done', figures: { meshes: 0 } });
      expect(reports[0]!.figures.nodesScaled).toBe(3);
      const { size } = (await surveyBytes(glb)).survey;
      const before = (await surveyBytes(source)).survey.size!;
      expect(size!.heightMm / before.heightMm).toBeCloseTo(0.01, 5);
    },
  );

  it('of a quantised skin goes into its bind matrices', async () => {
    const document = await makeRichModel();
    await document.transform(quantize());
    const source = Buffer.from(await (await createIo()).writeBinary(document));
    const { glb } = await scale(source, { factor: 10 });
    const [was, is] = [(await surveyBytes(source)).survey.box!, (await surveyBytes(glb)).survey.box!];
    is.min.forEach((value, axis) => {
      expect(value).toBeCloseTo(was.min[axis]! * 10, 3);
      expect(is.max[axis]).toBeCloseTo(was.max[axis]! * 10, 3);
    });
    expect(await listValidatorErrors(glb)).toEqual([]);
  });
});

describe('scale is unfit', () => {
  it('for a model of another unit than the one the step was made for', async () => {
    const metres = readRegistryModel('oculus-go/none.glb');
    const { heightMm } = (await surveyBytes(metres)).survey.size!;
    const report = await ask(metres, { factor: 0.01, unit: 'cm', seenHeightMm: heightMm * 1000 });
    expect(report.outcome).toBe('unfit');
    // nor has one anything to do that comes at the size the step would have brought it to
    const mended = await ask(metres, { factor: 0.01, unit: 'cm', seenHeightMm: heightMm * 100 });
    expect(mended.outcome).toBe('nothing-to-do');
    expect(report.message).toContain('The step was made for a model');
    // a changed design is no other unit
    expect((await ask(metres, { factor: 0.01, seenHeightMm: heightMm * 1.5 })).outcome).toBe('done');
  });

  it('where nothing has a size, or a number is none', async () => {
    expect((await ask(triangleGlb({ nodes: [{}] }), { factor: 2 })).outcome).toBe('unfit');
    const flat = triangleGlb({ nodes: [{ mesh: 0, rotation: [Math.SQRT1_2, 0, 0, Math.SQRT1_2], scale: [1, 0, 1] }] });
    expect((await ask(flat, { toHeightMm: 10 })).outcome).toBe('unfit');
    const { json, bin } = readGlb(triangleGlb());
    expect(json.accessors).toHaveLength(1);
    const broken = editGlb(triangleGlb(), () => {});
    broken.writeFloatLE(Number.NaN, broken.length - bin.length);
    expect((await ask(broken, { factor: 2 })).message).toContain('not finite numbers');
  });

  it('with an extension nobody knows on a node, until that is accepted', async () => {
    const source = triangleGlb({
      extensionsUsed: ['ACME_hinges'],
      nodes: [{ mesh: 0, extensions: { ACME_hinges: { axis: [0, 1, 0], at: 3 } } }],
    });
    const refused = await ask(source, { factor: 2 });
    expect(refused.outcome).toBe('unfit');
    expect(refused.losses).toEqual(['ACME_hinges on 1 node or mesh']);
    const { glb } = await scale(source, { factor: 2, accept: true });
    await expectScaled(source, glb, 2);
  });
});
