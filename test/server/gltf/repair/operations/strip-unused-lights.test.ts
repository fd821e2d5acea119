import { describe, expect, it } from 'vitest';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { readGlb } from '../../../../support/glb.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

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
