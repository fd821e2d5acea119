import { describe, expect, it } from 'vitest';
import { MOUNTS, type Mount } from '../../../../../server/core/picture/picture.ts';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { listReadRanges, readGlb } from '../../../../support/glb.ts';
import { measureInThree } from '../../../../support/measure-in-three.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

// Up is +Y and fronts face +Z: glTF 2.0 §3.4. Boxes are measured by three.js (Box3), files judged by the Khronos validator.

const place = async (bytes: Uint8Array, mount: Mount, centred?: boolean) =>
  repairBytes(bytes, [{ repair: 'place', mount, ...(centred === undefined ? {} : { centred }) }]);

const CONTACT: Record<Mount, (box: { min: number[]; max: number[] }) => number> = {
  floor: ({ min }) => min[1]!,
  table: ({ min }) => min[1]!,
  ceiling: ({ max }) => max[1]!,
  wall: ({ min }) => min[2]!,
};

describe('place', () => {
  it.each(MOUNTS)('%s: touches at 0 and is centred, with no byte of geometry changed', async (mount) => {
    for (const path of ['pico-4u/left.glb', 'generic-hand/left.glb']) {
      const source = readRegistryModel(path);
      const { glb, reports } = await place(source, mount);
      const box = await measureInThree(glb);
      expect(CONTACT[mount](box)).toBeCloseTo(0, 5);
      expect(box.min[0]! + box.max[0]!).toBeCloseTo(0, 5);
      if (mount !== 'wall') expect(box.min[2]! + box.max[2]!).toBeCloseTo(0, 5);
      expect(listReadRanges(readGlb(glb))).toEqual(listReadRanges(readGlb(source)));
      expect(await listValidatorErrors(glb)).toEqual(await listValidatorErrors(source));
      expect(reports[0]).toMatchObject({ outcome: 'done', touchesGeometry: false });
      const again = await place(glb, mount);
      expect(again.reports[0]!.outcome).toBe('nothing-to-do');
      expect(again.sha256).toBe((await repairBytes(glb, [])).sha256);
    }
  });

  it('keeps its place sideways where it is not to be centred', async () => {
    const source = readRegistryModel('pico-4u/left.glb');
    const [was, is] = [await measureInThree(source), await measureInThree((await place(source, 'floor', false)).glb)];
    expect(is.min[1]).toBeCloseTo(0, 5);
    expect(is.min[0]).toBeCloseTo(was.min[0]!, 6);
    expect(is.max[2]).toBeCloseTo(was.max[2]!, 6);
  });

  it('shifts matrices by their translation, and hangs roots whose place is animated from a new node', async () => {
    const matrix = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 5, 0, 1];
    const source = triangleGlb({
      scenes: [{ nodes: [0, 1, 2] }],
      nodes: [{ mesh: 0, matrix }, { mesh: 0, translation: [0, 7, 0] }, { name: 'Lamp' }],
      accessors: [
        { bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 0] },
        { bufferView: 1, componentType: 5126, count: 2, type: 'SCALAR', min: [0], max: [1] },
        { bufferView: 2, componentType: 5126, count: 2, type: 'VEC3' },
      ],
      bufferViews: [
        { buffer: 0, byteLength: 36 },
        { buffer: 0, byteOffset: 8, byteLength: 8 },
        { buffer: 0, byteLength: 24 },
      ],
      animations: [
        {
          channels: [{ sampler: 0, target: { node: 1, path: 'translation' } }],
          samplers: [{ input: 1, output: 2 }],
        },
      ],
    });
    expect(await listValidatorErrors(source)).toEqual([]);
    const { glb, reports } = await place(source, 'ceiling', false);
    const { json } = readGlb(glb);
    expect(json.nodes![0]!.matrix).toEqual([...matrix.slice(0, 13), -3, 0, 1]);
    expect(json.nodes![1]!.translation).toEqual([0, 7, 0]);
    expect(json.nodes![3]).toEqual({ translation: [0, -8, 0], children: [1] });
    expect(json.scenes).toEqual([{ nodes: [0, 3, 2] }]);
    expect(json.nodes![2]!.translation).toEqual([0, -8, 0]);
    expect((await measureInThree(glb)).max[1]).toBeCloseTo(0, 6);
    expect(reports[0]!.message).toContain('1 animated node');
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('is unfit where the scene shows nothing', async () => {
    const { reports } = await repairBytes(triangleGlb({ nodes: [{}] }), [{ repair: 'place' }], 'lenient');
    expect(reports[0]!.outcome).toBe('unfit');
  });
});
