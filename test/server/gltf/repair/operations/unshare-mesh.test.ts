import { describe, expect, it } from 'vitest';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { listReadRanges, readGlb } from '../../../../support/glb.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { countUnmatched, listWorldTriangles } from '../../../../support/world-triangles.ts';

// Nodes may share meshes, and meshes accessors: glTF 2.0 §3.5.2, §3.7.2. World triangles are read by glTF-Transform.

const PRIMITIVES = [{ attributes: { POSITION: 0 }, material: 0 }];
const SHARED = {
  scenes: [{ nodes: [0, 1, 2] }],
  nodes: [
    { mesh: 0 },
    { mesh: 1, translation: [2, 0, 0] },
    { children: [3, 4] },
    { mesh: 0, translation: [0, 2, 0] },
    { mesh: 1 },
  ],
  meshes: [
    { name: 'Leg', primitives: PRIMITIVES },
    { name: 'Leg 2', primitives: PRIMITIVES },
  ],
};

describe('unshare-mesh', () => {
  it('gives every further node a mesh of its own that reads the same accessors', async () => {
    const source = triangleGlb(SHARED);
    const { glb, reports } = await repairBytes(source, [{ repair: 'unshare-mesh' }]);
    const { json } = readGlb(glb);
    expect(json.nodes!.map(({ mesh }) => mesh)).toEqual([0, 1, undefined, 2, 3]);
    expect(json.meshes!.map(({ name }) => name)).toEqual(['Leg', 'Leg 2', 'Leg 3', 'Leg 2 2']);
    expect(json.meshes!.every(({ primitives }) => primitives[0]!.attributes.POSITION === 0)).toBe(true);
    expect(listReadRanges(readGlb(glb))).toEqual(listReadRanges(readGlb(source)));
    expect(await listValidatorErrors(glb)).toEqual([]);
    const [before, after] = [await listWorldTriangles(source), await listWorldTriangles(glb)];
    expect(after).toHaveLength(before.length);
    expect(countUnmatched(before, after, { off: 0 })).toBe(0);
    expect(reports[0]).toMatchObject({ outcome: 'done', figures: { meshes: 2, copies: 2 }, touchesGeometry: false });
  });

  it.each([['Leg'], ['/meshes/0']])('does only what is asked for: %s', async (reference) => {
    const { glb } = await repairBytes(triangleGlb(SHARED), [{ repair: 'unshare-mesh', meshes: [reference] }]);
    expect(readGlb(glb).json.nodes!.map(({ mesh }) => mesh)).toEqual([0, 1, undefined, 2, 1]);
  });

  it('refuses a mesh that is not there, and has nothing to do where none is shared', async () => {
    const run = async (more: Record<string, unknown>, meshes?: string[]) =>
      (await repairBytes(triangleGlb(more), [{ repair: 'unshare-mesh', ...(meshes ? { meshes } : {}) }], 'lenient'))
        .reports[0]!.outcome;
    expect(await run(SHARED, ['Arm'])).toBe('unfit');
    expect(await run(SHARED, ['/meshes/7'])).toBe('unfit');
    expect(await run({})).toBe('nothing-to-do');
    expect(await run({}, ['/meshes/0'])).toBe('nothing-to-do');
  });

  it('leaves a mesh shared whose weights an animation drives by pointer (KHR_animation_pointer)', async () => {
    const pointer = { pointer: '/meshes/0/weights' };
    const source = triangleGlb({
      ...SHARED,
      extensionsUsed: ['KHR_animation_pointer'],
      animations: [
        {
          channels: [{ sampler: 0, target: { path: 'pointer', extensions: { KHR_animation_pointer: pointer } } }],
          samplers: [{ input: 0, output: 0 }],
        },
      ],
    });
    const { glb, reports } = await repairBytes(source, [{ repair: 'unshare-mesh' }]);
    expect(readGlb(glb).json.nodes!.map(({ mesh }) => mesh)).toEqual([0, 1, undefined, 0, 2]);
    expect(reports[0]).toMatchObject({ outcome: 'done', figures: { leftShared: 1 } });
  });
});
