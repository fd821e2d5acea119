import { KHRMaterialsSheen, KHRTextureTransform } from '@gltf-transform/extensions';
import { afterAll, describe, expect, it } from 'vitest';
import type { SuppliedMaterial } from '../../../../../server/core/finish/finish.ts';
import { resolveFinish } from '../../../../../server/core/finish/resolve-finish.ts';
import type { MaterialJson } from '../../../../../server/gltf/document/json.ts';
import { extractMaterial } from '../../../../../server/gltf/materials/supplied/material-glb.ts';
import { addPart, addTexture, createDocument } from '../../../../support/build-model.ts';
import { lendModels } from '../../../../support/engines.ts';
import { materialsByVariant, readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { makeFinish } from '../../../../support/make-finish.ts';
import { resolveMaterial } from '../../../../support/resolve-material.ts';
import { createSplicer, RED, type Spliced } from '../../../../support/splice.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

const splicer = createSplicer();
const models = lendModels();
afterAll(() => Promise.all([splicer.close(), models.close()]));

/** A cloth whose occlusion map is laid by the second set of UVs, as exporters do, and its colour map by a transform. */
async function createCloth(): Promise<Uint8Array> {
  const document = createDocument();
  const cloth = document
    .createMaterial('Cloth')
    .setBaseColorFactor([0.5, 0.2, 0, 0.75])
    .setMetallicFactor(0)
    .setRoughnessFactor(0.8)
    .setBaseColorTexture(await addTexture(document, 'weave', 1))
    .setNormalTexture(await addTexture(document, 'threads', 2))
    .setOcclusionTexture(await addTexture(document, 'folds', 3))
    .setExtras({ supplier: { swatchTexture: { index: 7 } } });
  cloth.getOcclusionTextureInfo()!.setTexCoord(1);
  const transform = document.createExtension(KHRTextureTransform).createTransform().setScale([7, 7]).setRotation(0.3);
  cloth.getBaseColorTextureInfo()!.setExtension('KHR_texture_transform', transform);
  const sheen = document.createExtension(KHRMaterialsSheen).createSheen();
  cloth.setExtension(
    'KHR_materials_sheen',
    sheen.setSheenColorFactor([0.5, 0.4, 0.1]).setSheenColorTexture(await addTexture(document, 'nap', 4)),
  );
  addPart(document, { name: 'seat', material: cloth });
  const { json, bin } = readGlb(await (await createIo()).writeBinary(document));
  return extractMaterial({ json, bin }, 0);
}

const cloth = createCloth();

/** Parts of their own, with so many sets of UVs each; every one wears the supplied cloth in its first variant. */
async function wear(sets: readonly number[], says?: SuppliedMaterial['says'], change = {}): Promise<Spliced> {
  const document = createDocument();
  const names = sets.map((_, i) => `part-${i}`);
  sets.forEach((count, i) => {
    const mesh = addPart(document, { name: names[i]!, material: document.createMaterial(names[i]), uv: count > 0 });
    const [primitive] = mesh.listPrimitives();
    if (count > 1) primitive!.setAttribute('TEXCOORD_1', primitive!.getAttribute('TEXCOORD_0'));
  });
  const finish = makeFinish('CLOTH', {
    family: 'textile',
    supplied: { file: 'cloth', ...(says && { says }) },
    ...change,
  });
  const all = (code: string) => Object.fromEntries(names.map((name) => [name, code]));
  return splicer.splice(await (await createIo()).writeBinary(document), {
    finishes: [finish, RED],
    rows: [all('CLOTH'), all('RED')],
    maps: { cloth: { bytes: await cloth, mimeType: 'model/gltf-binary' } },
  });
}

const wornBy = ({ output }: Spliced, part: number): MaterialJson =>
  resolveMaterial(output, materialsByVariant(output, part, 0)[0]) as MaterialJson;

describe('a supplied material', () => {
  it('is worn to the letter by parts that have its UVs, and stands in the file once', async () => {
    const spliced = await wear([2, 2]);
    const source = resolveMaterial(readGlb(await cloth), 0);
    expect([wornBy(spliced, 0), wornBy(spliced, 1)]).toEqual([source, source]);
    expect(materialsByVariant(spliced.output, 0, 0)[0]).toBe(materialsByVariant(spliced.output, 1, 0)[0]);
    expect(spliced.output.json.images).toHaveLength(4);
    expect(spliced.written.findings).toEqual([]);
    expect(await listValidatorErrors(spliced.file)).toEqual([]);
  });

  // glTF 2.0 §3.9.6: a map needs the TEXCOORD it names; the validator reports MESH_PRIMITIVE_TOO_FEW_TEXCOORDS
  it('comes without the maps that a part has no UVs for, and that is told', async () => {
    const spliced = await wear([2, 1, 0]);
    const { occlusionTexture: _, ...oneSet } = resolveMaterial(readGlb(await cloth), 0) as MaterialJson;
    expect(wornBy(spliced, 0).occlusionTexture).toBeDefined();
    expect(wornBy(spliced, 1)).toEqual(oneSet);
    expect(wornBy(spliced, 2)).toEqual({
      name: 'Cloth',
      extras: { supplier: { swatchTexture: { index: 7 } } },
      pbrMetallicRoughness: { baseColorFactor: [0.5, 0.2, 0, 0.75], metallicFactor: 0, roughnessFactor: 0.8 },
      extensions: { KHR_materials_sheen: { sheenColorFactor: [0.5, 0.4, 0.1], sheenRoughnessFactor: 0 } },
    });
    expect(spliced.written.findings.map(({ code, where }) => [code, where])).toEqual([
      ['missing-uv', 'slot part-1'],
      ['missing-uv', 'slot part-2'],
    ]);
    expect(await listValidatorErrors(spliced.file)).toEqual([]);
  });
});

describe('a finish that says otherwise than its supplied material', () => {
  const says = { hex: '#808080', roughness: 0.4, metal: false };
  // IEC 61966-2-1, constants of W3C css-color-4
  const linear = (code: number) => (code <= 10 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4);

  it('leaves it as it is as long as they agree, however it is put', async () => {
    const agreed = await wear([2], says, { colour: { hex: '#808080' }, roughness: 0.4 });
    const unsaid = await wear([2], says, { colour: { hex: '#808080' } });
    const source = resolveMaterial(readGlb(await cloth), 0);
    expect([wornBy(agreed, 0), wornBy(unsaid, 0)]).toEqual([source, source]);
  });

  it('moves its factors in proportion, and nothing else', async () => {
    const spliced = await wear([2], says, { colour: { hex: '#406010' }, roughness: 0.3, metal: true });
    const { pbrMetallicRoughness: pbr, ...rest } = wornBy(spliced, 0);
    const { pbrMetallicRoughness: before, ...others } = resolveMaterial(readGlb(await cloth), 0) as MaterialJson;
    expect(rest).toEqual(others);
    expect(pbr!.baseColorTexture).toEqual(before!.baseColorTexture);
    const [r, g, b, alpha] = pbr!.baseColorFactor!;
    // mean × factor was the grey it says, so the mean is grey ÷ factor; the factor is what brings that to the wish
    expect(r).toBeCloseTo((0.5 * linear(0x40)) / linear(0x80), 6);
    expect(g).toBeCloseTo((0.2 * linear(0x60)) / linear(0x80), 6);
    expect(b).toBe(0);
    expect(alpha).toBe(0.75);
    expect(pbr!.roughnessFactor).toBeCloseTo(0.6, 6);
    expect(pbr!.metallicFactor).toBe(1);
    expect(spliced.written.findings).toEqual([]);
  });

  it('takes the colour as it stands where the factor was 0, and tells when a factor would have to be more than 1', async () => {
    const dark = { ...says, hex: '#800000' };
    const spliced = await wear([2], dark, { colour: { hex: '#ff1020' }, roughness: 0.4 });
    const [r, g, b] = wornBy(spliced, 0).pbrMetallicRoughness!.baseColorFactor!;
    expect(r).toBe(1);
    expect(g).toBeCloseTo(linear(0x10), 6);
    expect(b).toBeCloseTo(linear(0x20), 6);
    expect(spliced.written.findings.map(({ code, seen }) => [code, seen])).toEqual([['out-of-reach', 'CLOTH']]);
  });
});

describe('the swatch of a supplied material', () => {
  it('shows it without the shadows of its part, in the colour the finish has by now', async () => {
    const finish = makeFinish('CLOTH', {
      colour: { hex: '#406010' },
      supplied: { file: 'cloth', says: { hex: '#808080', roughness: 0.8, metal: false } },
      roughness: 0.8,
      metal: false,
    });
    const readMap = async () => ({ bytes: await cloth, mimeType: 'model/gltf-binary' });
    const kit = await models.writeFinishGlb(resolveFinish(finish, null), readMap);
    const { occlusionTexture, pbrMetallicRoughness } = readGlb(kit).json.materials![0]!;
    expect(occlusionTexture).toBeUndefined();
    expect(pbrMetallicRoughness!.baseColorFactor![0]).toBeLessThan(0.5);
    expect(readGlb(kit).json.images).toHaveLength(3);
    expect(await listValidatorErrors(kit)).toEqual([]);
  });
});
