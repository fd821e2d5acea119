import { afterAll, describe, expect, it } from 'vitest';
import { countAdded } from '../../../../server/core/delivery/delivery.ts';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { addPart, addTexture, createDocument } from '../../../support/build-model.ts';
import { editGlb, materialsByVariant } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { createSplicer } from '../../../support/splice.ts';
import { listValidatorErrors } from '../../../support/validate.ts';

// What is wrong in a source is not copied onto the materials of a delivery. Whether a file is right is the Khronos
// validator's word; a map needs the set of UVs it is laid by (glTF 2.0 §3.9.3 textureInfo.texCoord).

const splicer = createSplicer();
const io = createIo();
afterAll(() => splicer.close());

/** Two parts of one material with an occlusion map, changed by hand. */
async function makeTwoParts(change: (json: GltfJson) => void): Promise<Buffer> {
  const document = createDocument();
  const material = document.createMaterial('Part').setOcclusionTexture(await addTexture(document, 'ao', 3));
  for (const name of ['one', 'other']) addPart(document, { name, material });
  return editGlb(await (await io).writeBinary(document), change);
}

const occlusion = (json: GltfJson) => json.materials![0]!.occlusionTexture! as unknown as Record<string, unknown>;
const deliver = async (change: (json: GltfJson) => void) => {
  const model = await makeTwoParts(change);
  const spliced = await splicer.splice(model);
  const checks = await splicer.check(spliced);
  const worn = (mesh: number) =>
    spliced.output.json.materials![materialsByVariant({ ...spliced.output }, mesh, 0)[0]!]!;
  return { ...spliced, checks, worn, before: await listValidatorErrors(model) };
};

describe('a delivery of a source with faults', () => {
  it.each<[string, (json: GltfJson) => void, unknown]>([
    ['a strength of 7', (json) => Object.assign(occlusion(json), { strength: 7 }), { index: 0, strength: 1 }],
    ['a strength of text', (json) => Object.assign(occlusion(json), { strength: 'x' }), { index: 0 }],
    ['UVs that no part has', (json) => Object.assign(occlusion(json), { texCoord: 3 }), undefined],
    [
      'a malformed transform',
      (json) => Object.assign(occlusion(json), { extensions: { KHR_texture_transform: { offset: 5 } } }),
      { index: 0, extensions: { KHR_texture_transform: {} } },
    ],
  ])('is valid: %s', async (_, change, expected) => {
    const { file, worn, checks, before } = await deliver(change);
    expect(before.length).toBeGreaterThan(0);
    expect(await listValidatorErrors(file)).toEqual([]);
    expect(worn(0).occlusionTexture).toEqual(expected);
    expect(checks.every(({ passed }) => passed)).toBe(true);
  });

  it('keeps the places of animations that an extension nobody here knows may name', async () => {
    const empty = { samplers: [], channels: [] };
    const { output, checks } = await deliver((json) => {
      Object.assign(json, { extensionsUsed: ['EXT_nobody_knows'], animations: [empty, { channels: [] }] });
    });
    expect(output.json.animations).toEqual([empty, empty]);
    expect(checks.filter(({ passed, added }) => !passed && added !== 0)).toEqual([]);
  });

  it('keeps a map where a part has the UVs for it, and leaves it off where a part of the same material has not', async () => {
    const { file, worn, written, before } = await deliver((json) => {
      Object.assign(occlusion(json), { texCoord: 1 });
      const { attributes } = json.meshes![0]!.primitives[0]!;
      attributes.TEXCOORD_1 = attributes.TEXCOORD_0!;
    });
    expect(before).toHaveLength(1);
    expect(await listValidatorErrors(file)).toEqual([]);
    expect(worn(0).occlusionTexture).toEqual({ index: 0, texCoord: 1 });
    expect(worn(1).occlusionTexture).toBeUndefined();
    expect(written.findings).toMatchObject([{ code: 'missing-uv', seen: ['occlusion'] }]);
  });
});

describe('errors of a delivery', () => {
  const error = (code: string, pointer: string) => ({ code, pointer, severity: 0 as const, message: '' });

  it('are the source’s own where the same property has them there, however often it was copied', () => {
    const source = [error('TYPE_MISMATCH', '/materials/0/extensions/ACME_glow/glow')];
    expect(
      countAdded(
        [1, 2, 3].map((i) => error('TYPE_MISMATCH', `/materials/${i}/extensions/ACME_glow/glow`)),
        source,
      ),
    ).toBe(0);
    expect(countAdded([error('TYPE_MISMATCH', '/materials/1/alphaMode')], source)).toBe(1);
    expect(countAdded([error('VALUE_NOT_IN_RANGE', '/materials/1/extensions/ACME_glow/glow')], source)).toBe(1);
  });

  it('of what a primitive wears in a variant are those of what it wears at first', () => {
    const source = [error('MESH_PRIMITIVE_TOO_FEW_TEXCOORDS', '/meshes/4/primitives/0/material')];
    const at = '/meshes/4/primitives/0/extensions/KHR_materials_variants/mappings/2/material';
    expect(countAdded([error('MESH_PRIMITIVE_TOO_FEW_TEXCOORDS', at)], source)).toBe(0);
    expect(countAdded([error('MESH_PRIMITIVE_TOO_FEW_TEXCOORDS', at)], [])).toBe(1);
  });
});
