import { describe, expect, it } from 'vitest';
import type { GltfJson } from '../../../../../server/gltf/document/json.ts';
import { TRIANGLE_BIN, triangleJson } from '../../../../support/bad-models.ts';
import { listReadRanges, makeGlb, readGlb } from '../../../../support/glb.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

// Scenes list root nodes, each once, and no list is empty: glTF 2.0 §3.5.1 and the schemas of scene and node. Files are
// judged by the Khronos validator before and after.

const FIX = [{ repair: 'fix-scene' }] as const;

async function fix(more: Partial<GltfJson>) {
  const source = makeGlb(triangleJson(more), TRIANGLE_BIN);
  const repaired = await repairBytes(source, FIX);
  return { ...repaired, before: await listValidatorErrors(source), json: readGlb(repaired.glb).json };
}

describe('fix-scene', () => {
  it('takes a listed child off the list when its parents are in the scene too', async () => {
    const { json, glb, before, reports } = await fix({
      nodes: [{ children: [1] }, { children: [2] }, { mesh: 0 }],
      scenes: [{ nodes: [2, 0, 1] }],
    });
    expect(before).not.toEqual([]);
    expect(json.scenes).toEqual([{ nodes: [0] }]);
    expect(json.nodes).toEqual([{ children: [1] }, { children: [2] }, { mesh: 0 }]);
    expect(await listValidatorErrors(glb)).toEqual([]);
    expect(reports[0]).toMatchObject({
      outcome: 'done',
      touchesGeometry: false,
      figures: { childrenDropped: 2, childrenSetFree: 0 },
    });
  });

  it('sets a child free whose parents no scene holds, where it was drawn', async () => {
    const { json, glb, before } = await fix({
      nodes: [
        { translation: [5, 0, 0], children: [1] },
        { mesh: 0, translation: [0, 1, 0] },
      ],
      scenes: [{ nodes: [1] }],
    });
    expect(before).not.toEqual([]);
    expect(json.scenes).toEqual([{ nodes: [1] }]);
    expect(json.nodes).toEqual([{ translation: [5, 0, 0] }, { mesh: 0, translation: [0, 1, 0] }]);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('lists the root instead where another scene holds it', async () => {
    const { json, glb } = await fix({
      nodes: [{ children: [1] }, { mesh: 0 }],
      scenes: [{ nodes: [1] }, { nodes: [0] }],
    });
    expect(json.scenes).toEqual([{ nodes: [0] }, { nodes: [0] }]);
    expect(json.nodes).toEqual([{ children: [1] }, { mesh: 0 }]);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('drops repeated entries and empty lists, and names a default scene', async () => {
    const { json, glb, before, reports } = await fix({
      scene: undefined,
      nodes: [{ mesh: 0, children: [] }, { children: [2, 2] }, {}],
      scenes: [{ nodes: [0, 0, 1] }, { nodes: [] }],
    });
    expect(before).not.toEqual([]);
    expect(json.scene).toBe(0);
    expect(json.scenes).toEqual([{ nodes: [0, 1] }, {}]);
    expect(json.nodes).toEqual([{ mesh: 0 }, { children: [2] }, {}]);
    expect(await listValidatorErrors(glb)).toEqual([]);
    // that the first scene is the default was settled when the model was read
    expect(reports[0]!.figures).toMatchObject({ listedTwice: 2, emptyLists: 2 });
  });

  it('makes a scene of the roots where there is none', async () => {
    const { json, glb } = await fix({
      scene: undefined,
      scenes: undefined,
      nodes: [{ mesh: 0 }, { children: [0] }, { name: 'Lamp' }],
    });
    expect(json.scenes).toEqual([{ nodes: [1, 2] }]);
    expect(json.scene).toBe(0);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('works on a model with an extension nobody knows, and renumbers nothing', async () => {
    const { json } = await fix({
      extensionsUsed: ['ACME_hinges'],
      extensions: { ACME_hinges: { nodes: [2] } },
      nodes: [{ children: [1] }, { mesh: 0 }, {}],
      scenes: [{ nodes: [0, 1] }],
    });
    expect(json.nodes).toHaveLength(3);
    expect(json.scenes).toEqual([{ nodes: [0] }]);
  });

  it('leaves a scene in order alone, to the byte', async () => {
    const source = readRegistryModel('oculus-go/none.glb');
    const { glb, reports } = await repairBytes(source, FIX);
    expect(reports[0]!.outcome).toBe('nothing-to-do');
    expect(readGlb(glb).json).toEqual(readGlb(source).json);
    expect(listReadRanges(readGlb(glb))).toEqual(listReadRanges(readGlb(source)));
  });
});
