import { describe, expect, it } from 'vitest';
import type { Axis, Repair } from '../../../../../server/core/repair/repair.ts';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { listReadRanges, readGlb } from '../../../../support/glb.ts';
import { measureInThree } from '../../../../support/measure-in-three.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { surveyBytes } from '../../../../support/survey.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { listWorldTriangles } from '../../../../support/world-triangles.ts';

// Rotations are right-handed (glTF 2.0 §3.4): counter-clockwise as seen from the positive end of the axis. Matrices about x, y and z
// by an angle t, worked by hand: x: (x, y cos t − z sin t, y sin t + z cos t); y: (x cos t + z sin t, y, z cos t − x sin t);
// z: (x cos t − y sin t, x sin t + y cos t, z). Corners are read by the glTF library, boxes measured by three.js.

const turn = (axis: Axis, degrees: number): Repair => ({ repair: 'turn', axis, degrees });
const PLACES = [
  { mesh: 0, translation: [1, 2, 3], rotation: [0.5, 0.5, 0.5, 0.5], scale: [2, 3, 0.5] },
  { mesh: 0, matrix: [0, 0, 1, 0, 2, 0, 0, 0, 0, 3, 0, 0, -4, 5, 6, 1] },
  { mesh: 0 },
];
const placed = triangleGlb({ scenes: [{ nodes: [0, 1, 2] }], nodes: PLACES });

const cornersOf = async (glb: Uint8Array) =>
  (await listWorldTriangles(glb)).flatMap(({ corners }) => corners.map((corner) => corner.slice(0, 3)));

function rotate([x, y, z]: readonly number[], axis: Axis, degrees: number): number[] {
  const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  if (axis === 'x') return [x!, y! * c - z! * s, y! * s + z! * c];
  if (axis === 'y') return [x! * c + z! * s, y!, z! * c - x! * s];
  return [x! * c - y! * s, x! * s + y! * c, z!];
}

describe('turn', () => {
  it.each<[Axis, number]>([
    ['x', 90],
    ['x', -90],
    ['y', 90],
    ['y', 180],
    ['y', 30],
    ['z', 90],
    ['z', -123.4],
  ])('about %s by %d degrees: every corner is where the matrix has it', async (axis, degrees) => {
    const { glb, reports } = await repairBytes(placed, [turn(axis, degrees)]);
    expect(reports[0]).toMatchObject({ outcome: 'done', touchesGeometry: false });
    const [was, is] = [await cornersOf(placed), await cornersOf(glb)];
    was.forEach((corner, index) => {
      rotate(corner, axis, degrees).forEach((value, at) => {
        expect(is[index]![at]).toBeCloseTo(value, 5);
      });
    });
    expect(listReadRanges(readGlb(glb))).toEqual(listReadRanges(readGlb(placed)));
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('the front goes to the right, and the top to the front', async () => {
    const point = async (repair: Repair, at: readonly number[]) => {
      const source = triangleGlb({ nodes: [{ mesh: 0, translation: at }] });
      return (await cornersOf((await repairBytes(source, [repair])).glb))[0];
    };
    // +Y is up, fronts face +Z, and +X is to the right of who looks at the front (§3.4)
    expect(await point(turn('y', 90), [0, 0, 1])).toEqual([1, 0, 0]);
    expect(await point(turn('x', 90), [0, 1, 0])).toEqual([0, 0, 1]);
  });

  it('exchanges width and depth, or depth and height, of real models; four quarters change nothing', async () => {
    const source = readRegistryModel('pico-4u/left.glb');
    const { survey } = await surveyBytes(source);
    const size = async (repairs: Repair[]) =>
      (await surveyBytes((await repairBytes(source, repairs)).glb)).survey.size!;
    const { widthMm, depthMm, heightMm } = survey.size!;
    const same = (found: typeof survey.size, wanted: readonly number[]) => {
      [found!.widthMm, found!.depthMm, found!.heightMm].forEach((value, at) => {
        expect(value).toBeCloseTo(wanted[at]!, 2);
      });
    };
    same(await size([turn('y', -90)]), [depthMm, widthMm, heightMm]);
    same(await size([turn('x', 90)]), [widthMm, heightMm, depthMm]);
    same(await size([turn('z', 90)]), [heightMm, depthMm, widthMm]);
    const round = await repairBytes(
      source,
      [1, 2, 3, 4].map(() => turn('y', 90)),
    );
    const [was, is] = [await measureInThree(source), await measureInThree(round.glb)];
    [...was.min, ...was.max].forEach((value, at) => {
      expect([...is.min, ...is.max][at]).toBeCloseTo(value, 6);
    });
  });

  it('turns a skinned model and what an animation turns', async () => {
    const hand = readRegistryModel('generic-hand/left.glb');
    const [was, is] = [
      await measureInThree(hand),
      await measureInThree((await repairBytes(hand, [turn('y', 180)])).glb),
    ];
    for (const axis of [0, 2]) {
      expect(is.min[axis]).toBeCloseTo(-was.max[axis]!, 5);
      expect(is.max[axis]).toBeCloseTo(-was.min[axis]!, 5);
    }
    const animated = triangleGlb({
      scenes: [{ nodes: [0] }],
      nodes: [{ mesh: 0, translation: [0, 7, 0] }],
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
        { channels: [{ sampler: 0, target: { node: 0, path: 'translation' } }], samplers: [{ input: 1, output: 2 }] },
      ],
    });
    const { glb, reports } = await repairBytes(animated, [turn('x', 180)]);
    const { json } = readGlb(glb);
    expect(json.nodes![0]).toEqual({ mesh: 0, translation: [0, 7, 0] });
    expect(json.nodes![1]).toEqual({ children: [0], rotation: [1, 0, 0, 0] });
    expect(json.scenes).toEqual([{ nodes: [1] }]);
    expect(reports[0]!.message).toContain('1 animated node');
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('has nothing to do for whole turns, and does not fit a file without nodes', async () => {
    for (const degrees of [0, 360, -360]) {
      expect((await repairBytes(placed, [turn('y', degrees)])).reports[0]!.outcome).toBe('nothing-to-do');
    }
    const empty = triangleGlb({ scenes: [{}], nodes: undefined });
    expect((await repairBytes(empty, [turn('y', 90)], 'lenient')).reports[0]!.outcome).toBe('unfit');
  });
});
