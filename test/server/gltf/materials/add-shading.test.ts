import { validateBytes } from 'gltf-validator';
import { afterAll, describe, expect, it } from 'vitest';
import {
  type TextureTransform,
  toUvMap,
  turnNormals,
  UNTURNED,
  UVS_IN_METRES,
} from '../../../../server/core/delivery/repeat-transform.ts';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import { METAL_NAMES, METALS } from '../../../../server/core/finish/metals.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { makeFinishMaterials } from '../../../../server/gltf/materials/finish-material.ts';
import type { MaterialSpec } from '../../../../server/gltf/materials/material-spec.ts';
import { listAnisotropyDropped } from '../../../../server/gltf/write/write-findings.ts';
import { addPart, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { materialsByVariant } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';
import { createSplicer } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

const splicer = createSplicer();
afterAll(() => splicer.close());

interface Report {
  readonly issues: { readonly messages: readonly { code: string; severity: number; pointer?: string }[] };
}

/** The finish laid on a square metre, with what the validator has to say of the material. */
async function write(given: Partial<Finish>, grainDegrees = 0, doubleSided = false) {
  const document = createDocument();
  addPart(document, { name: 'part', material: document.createMaterial('part').setDoubleSided(doubleSided) });
  const spliced = await splicer.splice(await (await createIo()).writeBinary(document), {
    finishes: [makeFinish('X', given)],
    rows: [{ part: 'X' }],
    maps: { bumps: { bytes: await makeNoisePng(7, 16), mimeType: 'image/png' } },
    changeSlot: () => ({ grainDegrees }),
  });
  expectSplicePromises(spliced);
  const { issues } = (await validateBytes(spliced.file, { maxIssues: 0 })) as Report;
  return {
    material: spliced.output.json.materials![materialsByVariant(spliced.output, 0, 0)[0]!]!,
    used: spliced.output.json.extensionsUsed!,
    findings: spliced.written.findings,
    errors: issues.messages.filter(({ severity }) => severity === 0),
    remarks: issues.messages.filter(({ pointer }) => pointer?.startsWith('/materials')).map(({ code }) => code),
  };
}

const glass = { family: 'glass', colour: { hex: '#ffffff' }, ior: 1.5 } as const;
const brushed = {
  family: 'bare-metal',
  colour: { hex: '#f5f6f6' },
  anisotropy: { strength: 0.7, rotationDegrees: 30 },
} as const;
const bumps = { maps: { normal: 'bumps' }, tile: { widthMm: 1000, heightMm: 1000 } };

// property names and defaults: KhronosGroup/glTF, extensions/2.0/Khronos/KHR_materials_*/README.md; the validator is
// gltf-validator 2.0.0-dev.3.10
describe('what few finishes have is written by its extension', () => {
  it.each<[string, Partial<Finish>, Record<string, unknown>]>([
    [
      'volume',
      // IEC 61966-2-1: code 188 is 0.502886 linear
      { ...glass, volume: { thicknessMm: 6, attenuationColour: '#bcffff', attenuationDistanceMm: 20 } },
      { thicknessFactor: 0.006, attenuationDistance: 0.02, attenuationColor: [expect.closeTo(0.502886, 6), 1, 1] },
    ],
    [
      'volume',
      { ...glass, volume: { thicknessMm: 6, attenuationColour: '#ffffff', attenuationDistanceMm: 20 } },
      { thicknessFactor: 0.006 },
    ],
    ['specular', { specular: { factor: 0.3 } }, { specularFactor: 0.3 }],
    [
      'specular',
      { specular: { factor: 1, colour: '#ffbcff' } },
      { specularColorFactor: [1, expect.closeTo(0.502886, 6), 1] },
    ],
    ['iridescence', { iridescence: { factor: 1 } }, { iridescenceFactor: 1 }],
    [
      'iridescence',
      { iridescence: { factor: 0.8, ior: 1.8, thicknessMinNm: 200, thicknessMaxNm: 550 } },
      { iridescenceFactor: 0.8, iridescenceIor: 1.8, iridescenceThicknessMaximum: 550 },
    ],
    ['emissive_strength', { emissive: { colour: '#ffffff', strength: 5 } }, { emissiveStrength: 5 }],
    [
      'anisotropy',
      { ...brushed, ...bumps },
      { anisotropyStrength: 0.7, anisotropyRotation: expect.closeTo(Math.PI / 6, 7) },
    ],
  ])('KHR_materials_%s, of %j', async (name, given, expected) => {
    const { material, used, errors, remarks } = await write(given);
    expect(material.extensions?.[`KHR_materials_${name}`]).toEqual(expected);
    expect(used).toContain(`KHR_materials_${name}`);
    expect(errors.filter(({ pointer }) => pointer?.startsWith('/materials'))).toEqual([]);
    expect(errors).toEqual([]);
    expect(remarks).toEqual([]);
  });

  it.each<[string, Partial<Finish>]>([
    ['a sheen of black', { sheen: { colour: '#000000', roughness: 0.4 } }],
    [
      'a volume without transmission',
      { volume: { thicknessMm: 6, attenuationColour: '#808080', attenuationDistanceMm: 6 } },
    ],
    ['specular 1, white', { specular: { factor: 1, colour: '#ffffff' } }],
    ['specular on a metal', { metal: true, specular: { factor: 0.2 } }],
    ['a film of factor 0', { iridescence: { factor: 0, thicknessMaxNm: 500 } }],
    ['brushing of strength 0', { ...bumps, anisotropy: { strength: 0, rotationDegrees: 45 } }],
    ['brushing without tangents or a normal map', { anisotropy: { strength: 0.7, rotationDegrees: 45 } }],
    ['light of strength 0', { emissive: { colour: '#ffffff', strength: 0 } }],
    ['light of black', { emissive: { colour: '#000000', strength: 9 } }],
  ])('and nothing is written of %s', async (_, given) => {
    const { material, used, errors } = await write(given);
    expect(material.extensions ?? {}).toEqual({});
    expect(material.emissiveFactor ?? [0, 0, 0]).toEqual([0, 0, 0]);
    expect(used.filter((name) => name.startsWith('KHR_materials_'))).toEqual(['KHR_materials_variants']);
    expect(errors).toEqual([]);
  });

  it('light up to 1 is in the factor, and needs no extension', async () => {
    const { material, errors } = await write({ emissive: { colour: '#ffbc00', strength: 0.5 } });
    expect(material.emissiveFactor).toEqual([0.5, expect.closeTo(0.251443, 6), 0]);
    expect(material.extensions ?? {}).toEqual({});
    expect(errors).toEqual([]);
  });

  it('a thin sheet, thickness 0, has no volume', async () => {
    const volume = { thicknessMm: 0, attenuationColour: '#808080', attenuationDistanceMm: 6 };
    const { material } = await write({ ...glass, volume });
    expect(Object.keys(material.extensions!)).toEqual(['KHR_materials_transmission']);
  });

  // KHR_materials_volume: “The doubleSided property has no effect on volume boundaries”; the validator warns of both
  it('a body has no second side, and that is told', async () => {
    const volume = { thicknessMm: 6, attenuationColour: '#808080', attenuationDistanceMm: 6 };
    const { material, findings, remarks, errors } = await write({ ...glass, volume }, 0, true);
    expect(material.extensions?.KHR_materials_volume).toBeDefined();
    expect(material.doubleSided ?? false).toBe(false);
    expect(remarks).toEqual([]);
    expect(errors).toEqual([]);
    expect(findings).toMatchObject([{ code: 'double-sided-body', severity: 'note', where: 'slot part', seen: ['X'] }]);
    // single-sided as it came, or thin: nothing to tell, and the second side stays
    expect((await write({ ...glass, volume })).findings).toEqual([]);
    const thin = await write(glass, 0, true);
    expect(thin.material.doubleSided).toBe(true);
    expect(thin.findings).toEqual([]);
  });

  // KHR_materials_anisotropy: radians, counter-clockwise in tangent space. Without tangents that is made from the
  // coordinates of the normal map (glTF 2.0 §3.7.2.1), so that it has been turned by slot and tile already
  it.each([
    [60, 0],
    [60, 15],
    [-90, 0],
  ])('brushing of 30° on a slot of %d° with a tile of %d° turns with the finish’s normal map', async (slot, tile) => {
    const given = { ...brushed, ...bumps, tile: { ...bumps.tile, grainDegrees: tile } };
    const { material, errors } = await write(given, slot);
    expect(material.normalTexture?.extensions?.KHR_texture_transform).toBeDefined();
    expect(material.extensions?.KHR_materials_anisotropy?.anisotropyRotation).toBeCloseTo(Math.PI / 6, 7);
    expect(errors).toEqual([]);
  });

  // baseColorFactor is 0–1 (glTF 2.0); the table is Khronos 3D Commerce Asset Creation Guidelines v1.0.0 for most
  it('every metal of the table can be stated', async () => {
    const specs = METAL_NAMES.map((name) => makeSpec({ ...brushed, anisotropy: null }, name));
    const { json } = await makeFinishMaterials(specs, unread);
    METAL_NAMES.forEach((name, index) => {
      const factor = json.materials![index]!.pbrMetallicRoughness!.baseColorFactor!;
      expect(factor.slice(0, 3)).toEqual(METALS[name].f0);
    });
  });
});

const unread = () => Promise.reject(new Error('no map is laid here'));

function makeSpec(given: Partial<Finish>, metalName?: keyof typeof METALS) {
  const finish = resolveFinish(makeFinish('X', given), null);
  return {
    name: 'part/X',
    finish: metalName ? { ...finish, baseColour: METALS[metalName].f0 } : finish,
    lay: UVS_IN_METRES,
    grainDegrees: 0,
    omittedMaps: new Set<never>(),
    detail: null,
    unusableMaps: [],
    hasTangents: false,
    metresPerMeshUnit: 1,
  };
}

const laid = { lay: UVS_IN_METRES };
const kept = { omittedMaps: new Set(['normal'] as const) };
const frameOf = (transform: TextureTransform) => turnNormals(toUvMap(transform));

describe('what depends on the part', () => {
  it('thickness is in the units of the mesh, attenuation in metres', async () => {
    const volume = { thicknessMm: 6, attenuationColour: '#808080', attenuationDistanceMm: 20 };
    const { json } = await makeFinishMaterials(
      [{ ...makeSpec({ ...glass, volume }), metresPerMeshUnit: 0.01 }],
      unread,
    );
    expect(json.materials![0]!.extensions!.KHR_materials_volume).toMatchObject({
      thicknessFactor: 0.6,
      attenuationDistance: 0.02,
    });
  });

  it('brushing is written where the parts have tangents, or a normal map of their own', async () => {
    const bare = makeSpec(brushed);
    const own = { omittedMaps: new Set(['normal'] as const), partFrame: UNTURNED };
    const specs = [bare, { ...bare, hasTangents: true }, { ...bare, ...own }];
    const { json } = await makeFinishMaterials(specs, unread);
    expect(json.materials!.map(({ extensions }) => Boolean(extensions?.KHR_materials_anisotropy))).toEqual([
      false,
      true,
      true,
    ]);
  });

  // test/server/core/delivery/repeat-transform.test.ts proves the frame of such a map; that engines see it so: test/picture/brushing
  it.each<[string, Partial<MaterialSpec>, number]>([
    ['tangents', { hasTangents: true }, 105],
    ['tangents, whatever map is laid', { ...laid, hasTangents: true }, 105],
    ['the finish’s map, which is turned', laid, 30],
    [
      'a map baked in the part’s UVs',
      { ...laid, combinedNormals: { png: new Uint8Array(), transform: {}, repeats: true } },
      105,
    ],
    ['the part’s map', { ...kept, partFrame: UNTURNED }, 105],
    ['the part’s map, turned clockwise', { ...kept, partFrame: frameOf({ rotation: Math.PI / 4 }) }, 150],
    ['the part’s map, mirrored', { ...kept, partFrame: frameOf({ scale: [-1, 1] }) }, 75],
    ['the part’s map, on its head', { ...kept, partFrame: frameOf({ scale: [1, -2] }) }, 255],
    ['UVs as they are', { hasUvFrame: true }, 105],
    // a finish lies as the part's own map does: 15° more for a map that is seen turned so, and the other way round on the
    // surface where it is seen mirrored
    ['tangents, on a part whose map is turned', { lay: { ...UVS_IN_METRES, turnDegrees: 15 }, hasTangents: true }, 120],
    [
      'tangents, on a part whose map is mirrored',
      { lay: { ...UVS_IN_METRES, metresPerU: -0.5 }, hasTangents: true },
      75,
    ],
    [
      'tangents, on a part whose map is on its head',
      { lay: { ...UVS_IN_METRES, metresPerV: -2 }, hasTangents: true },
      255,
    ],
    ['the finish’s map, mirrored and drawn out', { lay: { ...UVS_IN_METRES, metresPerU: -0.5, turnDegrees: 40 } }, 30],
  ])('brushing of 30° on a slot of 60° with a tile of 15° by %s', async (_, how, degrees) => {
    const tile = { ...bumps.tile, grainDegrees: 15 };
    const finish = resolveFinish(makeFinish('X', { ...brushed, maps: { normal: 'bumps' }, tile }), null);
    const spec = { ...makeSpec({}), grainDegrees: 60, finish, lay: null, ...how };
    const bytes = await makeNoisePng(7, 4);
    const { json } = await makeFinishMaterials([spec], async () => ({ bytes, mimeType: 'image/png' }));
    const written = json.materials![0]!.extensions!.KHR_materials_anisotropy!;
    expect(((written.anisotropyRotation as number) * 180) / Math.PI).toBeCloseTo(degrees, 5);
  });

  it('brushing that is not written is told, once a slot', () => {
    const bare = makeSpec(brushed);
    const onSlot = (slot: string, spec: MaterialSpec) => ({ planned: { slot: makeSlot(slot, {}) }, spec });
    const onLegs = onSlot('legs', { ...bare, hasTangents: true });
    const findings = listAnisotropyDropped([onSlot('seat', bare), onSlot('seat', bare), onLegs]);
    expect(findings).toMatchObject([{ code: 'anisotropy-dropped', severity: 'note', where: 'slot seat', seen: ['X'] }]);
    expect(listAnisotropyDropped([onSlot('seat', makeSpec({}))])).toEqual([]);
  });
});
