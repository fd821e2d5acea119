import { describe, expect, it } from 'vitest';
import type { Repair } from '../../../../../server/core/repair/repair.ts';
import { addPart, addTexture, createDocument } from '../../../../support/build-model.ts';
import { readGlb, readImage } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

// Property names and defaults are those of glTF 2.0 (KhronosGroup/glTF 77b44be,
// specification/2.0/schema/material.pbrMetallicRoughness.schema.json): metallicFactor is 1 where it is not said.

async function makeModel(): Promise<Uint8Array> {
  const document = createDocument();
  const oak = document.createMaterial('Oak').setRoughnessFactor(0.7);
  oak.setMetallicRoughnessTexture(await addTexture(document, 'orm', 2));
  const steel = document.createMaterial('Steel').setMetallicFactor(0.8);
  const felt = document.createMaterial('Felt').setMetallicFactor(0);
  for (const material of [oak, steel, felt]) addPart(document, { name: material.getName(), material });
  return (await createIo()).writeBinary(document);
}

const set = (...materials: string[]): Repair => ({ repair: 'set-nonmetal', materials });

describe('set-nonmetal', () => {
  it('takes the metal from what it names and lets roughness and all others be', async () => {
    const source = await makeModel();
    const { glb, reports } = await repairBytes(source, [set('Oak')]);
    const [before, after] = [readGlb(source), readGlb(glb)];
    const [oak, ...others] = after.json.materials!;
    expect(oak).toEqual({
      ...before.json.materials![0],
      pbrMetallicRoughness: { ...before.json.materials![0]!.pbrMetallicRoughness, metallicFactor: 0 },
    });
    expect(others).toEqual(before.json.materials!.slice(1));
    expect(readImage(after, 0)).toEqual(readImage(before, 0));
    expect(after.json.accessors).toEqual(before.json.accessors);
    expect(await listValidatorErrors(glb)).toEqual([]);
    expect(reports[0]).toMatchObject({ outcome: 'done', touchesGeometry: false, losses: [] });
    expect(reports[0]!.figures).toEqual({ materials: 1, mapsKept: 1 });
  });

  it('finds materials by pointer too, and has nothing to do where there is no metal', async () => {
    const source = await makeModel();
    const steel = await repairBytes(source, [set('/materials/1')]);
    expect(readGlb(steel.glb).json.materials![1]!.pbrMetallicRoughness!.metallicFactor).toBe(0);
    const felt = await repairBytes(source, [set('Felt')]);
    expect(felt.reports[0]!.outcome).toBe('nothing-to-do');
    expect(readGlb(felt.glb).json).toEqual(readGlb(source).json);
  });

  it('names those it did not find and does the others', async () => {
    const { reports } = await repairBytes(await makeModel(), [set('Oak', 'Walnut')]);
    expect(reports[0]!.outcome).toBe('done');
    expect(reports[0]!.message).toContain('no material “Walnut”; it has “Oak”, “Steel” and “Felt”');
  });

  it('does not fit without a list, and says which materials are metal', async () => {
    const source = await makeModel();
    const { reports, glb } = await repairBytes(source, [{ repair: 'set-nonmetal' }], 'lenient');
    expect(reports[0]!.outcome).toBe('unfit');
    expect(reports[0]!.message).toContain('“Oak” and “Steel”');
    expect(reports[0]!.message).not.toContain('Felt');
    expect(readGlb(glb).json).toEqual(readGlb(source).json);
    await expect(repairBytes(source, [set('Walnut')])).rejects.toThrow(/Walnut/);
  });
});
