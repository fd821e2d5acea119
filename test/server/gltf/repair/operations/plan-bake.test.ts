import { describe, expect, it } from 'vitest';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { readGlb } from '../../../../support/glb.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

// Thickness is stated in the space of the mesh, attenuation in that of the world: KhronosGroup/glTF,
// extensions/2.0/Khronos/KHR_materials_volume.

const glass = (nodes: object[]) =>
  triangleGlb({
    extensionsUsed: ['KHR_materials_volume', 'KHR_materials_transmission'],
    materials: [
      {
        name: 'Glass',
        extensions: {
          KHR_materials_transmission: { transmissionFactor: 1 },
          KHR_materials_volume: { thicknessFactor: 0.5, attenuationDistance: 3 },
        },
      },
    ],
    nodes,
    scenes: [{ nodes: [...nodes.keys()] }],
  });
const volumeOf = (glb: Buffer) => readGlb(glb).json.materials![0]!.extensions!.KHR_materials_volume;

describe('thickness, when transforms are baked,', () => {
  it('takes the scale that is baked, and attenuation does not', async () => {
    const { glb } = await repairBytes(glass([{ mesh: 0, scale: [2, 2, 2] }]), [{ repair: 'bake-transforms' }]);
    expect(volumeOf(glb)).toEqual({ thicknessFactor: 1, attenuationDistance: 3 });
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('takes the mean of an uneven scale by volume', async () => {
    const { glb } = await repairBytes(glass([{ mesh: 0, scale: [-1, 2, 4] }]), [{ repair: 'bake-transforms' }]);
    expect((volumeOf(glb) as { thicknessFactor: number }).thicknessFactor).toBeCloseTo(1, 9);
  });

  it('cannot follow two scales: that is asked about, and then it stays', async () => {
    const source = glass([{ mesh: 0, scale: [2, 2, 2] }, { mesh: 0 }]);
    await expect(repairBytes(source, [{ repair: 'bake-transforms' }])).rejects.toMatchObject({
      code: 'repair-would-lose',
    });
    const { glb, reports } = await repairBytes(source, [{ repair: 'bake-transforms', accept: true }]);
    expect(reports[0]!.losses).toEqual(['the thickness of “Glass”, used at several scales']);
    expect(volumeOf(glb)).toEqual({ thicknessFactor: 0.5, attenuationDistance: 3 });
  });
});
