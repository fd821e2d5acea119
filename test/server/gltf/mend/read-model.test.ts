import { validateString } from 'gltf-validator';
import { describe, expect, it } from 'vitest';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { mendJson } from '../../../../server/gltf/mend/read-model.ts';
import { triangleJson } from '../../../support/bad-models.ts';

// What properties may hold, and their defaults, by glTF 2.0 (KhronosGroup/glTF, specification/2.0/schema) and the schemas of
// the extensions named; that what is left is right is the Khronos validator's word.

const json = (more: Record<string, unknown>) => triangleJson(more) as unknown as GltfJson;
const material = (more: Record<string, unknown>) => json({ materials: [{ name: 'Oak', ...more }], ...MAP });
const MAP = {
  textures: [{ source: 0 }],
  images: [{ uri: 'data:image/png;base64,iVBORw0KGgo=', mimeType: 'image/png' }],
  meshes: [{ primitives: [{ attributes: { POSITION: 0, TEXCOORD_0: 0 }, material: 0 }] }],
};

async function listErrors(document: GltfJson): Promise<string[]> {
  const report = (await validateString(JSON.stringify(document), {
    maxIssues: 0,
    ignoredIssues: ['IO_ERROR', 'BUFFER_MISSING_GLB_DATA', 'MESH_PRIMITIVE_ATTRIBUTES_ACCESSOR_INVALID_FORMAT'],
  })) as { issues: { messages: { code: string; severity: number; pointer?: string }[] } };
  const SHAPE =
    /MISMATCH|RANGE|VALUE_NOT|ARRAY|UNDEFINED_PROPERTY|UNRESOLVED|UNDECLARED|DEPENDENCY|TEXCOORDS|INVALID_INDEX/;
  return report.issues.messages
    .filter(({ severity, code }) => severity === 0 && SHAPE.test(code))
    .map(({ code, pointer }) => `${code} ${pointer}`);
}

const transform = (value: unknown) =>
  material({ normalTexture: { index: 0, extensions: { KHR_texture_transform: value } } });
const animated = (animation: Record<string, unknown>) => json({ animations: [animation] });
const PLAYS = { samplers: [{ input: 0, output: 0 }] };

/** What stands in the file, where, and what is read instead: undefined where glTF's default holds. */
const CASES: readonly (readonly [what: string, GltfJson, pointer: string, used: unknown])[] = [
  [
    'a scale of a normal map that is text',
    material({ normalTexture: { index: 0, scale: 'x' } }),
    '/materials/0/normalTexture/scale',
    undefined,
  ],
  [
    'a number written as text',
    material({ normalTexture: { index: 0, scale: '0.5' } }),
    '/materials/0/normalTexture/scale',
    0.5,
  ],
  [
    'a strength above 1',
    material({ occlusionTexture: { index: 0, strength: 7 } }),
    '/materials/0/occlusionTexture/strength',
    1,
  ],
  ['a map without a texture', material({ normalTexture: { scale: 1 } }), '/materials/0/normalTexture', undefined],
  [
    'a map of a texture that is not there',
    material({ emissiveTexture: { index: 4 } }),
    '/materials/0/emissiveTexture',
    undefined,
  ],
  [
    'a map by UVs no part has',
    material({ occlusionTexture: { index: 0, texCoord: 3 } }),
    '/materials/0/occlusionTexture',
    undefined,
  ],
  [
    'a map moved to UVs no part has',
    transform({ texCoord: 7 }),
    '/materials/0/normalTexture/extensions/KHR_texture_transform/texCoord',
    undefined,
  ],
  [
    'an offset that is text',
    transform({ offset: 'x' }),
    '/materials/0/normalTexture/extensions/KHR_texture_transform/offset',
    undefined,
  ],
  [
    'a scale past single precision',
    transform({ scale: [1e306, 1] }),
    '/materials/0/normalTexture/extensions/KHR_texture_transform/scale',
    undefined,
  ],
  ['a transform that is text', transform('x'), '/materials/0/normalTexture/extensions', undefined],
  ['a colour beyond 1', material({ emissiveFactor: [2, 0.5, -1] }), '/materials/0/emissiveFactor', [1, 0.5, 0]],
  [
    'a colour of three numbers',
    material({ pbrMetallicRoughness: { baseColorFactor: [1, 1, 1] } }),
    '/materials/0/pbrMetallicRoughness/baseColorFactor',
    undefined,
  ],
  ['an alpha mode nobody knows', material({ alphaMode: 'GLOW' }), '/materials/0/alphaMode', undefined],
  ['sides that are text', material({ doubleSided: 'yes' }), '/materials/0/doubleSided', undefined],
  [
    'a coat above 1',
    material({ extensions: { KHR_materials_clearcoat: { clearcoatFactor: 3 } } }),
    '/materials/0/extensions/KHR_materials_clearcoat/clearcoatFactor',
    1,
  ],
  [
    'an index of refraction of 0, which is allowed',
    material({ extensions: { KHR_materials_ior: { ior: 0 } } }),
    '/materials/0/extensions/KHR_materials_ior/ior',
    0,
  ],
  ['a name that is a number', json({ nodes: [{ mesh: 0, name: 42 }] }), '/nodes/0/name', undefined],
  ['nothing where a camera belongs', json({ nodes: [{ mesh: 0, camera: null }] }), '/nodes/0/camera', undefined],
  [
    'a light without a list of lights',
    json({ nodes: [{ mesh: 0, extensions: { KHR_lights_punctual: { light: 0 } } }] }),
    '/nodes/0/extensions',
    undefined,
  ],
  [
    'a node scaled beyond all measure',
    json({ nodes: [{ mesh: 0, scale: [1e306, 1, 1] }] }),
    '/nodes/0/scale',
    undefined,
  ],
  [
    'a chain of scales beyond all measure',
    json({
      nodes: [
        { children: [1], scale: [1e9, 1e9, 1e9] },
        { mesh: 0, scale: [1e9, 1, 1] },
      ],
    }),
    '/nodes/1/scale',
    undefined,
  ],
  [
    'a channel of a sampler that is not there',
    animated({ ...PLAYS, channels: [{ sampler: 9, target: { node: 0, path: 'scale' } }] }),
    '/animations',
    undefined,
  ],
  [
    'a channel of a node that is not there',
    animated({ ...PLAYS, channels: [{ sampler: 0, target: { node: 9, path: 'scale' } }] }),
    '/animations/0/channels/0/target/node',
    undefined,
  ],
  [
    'bounds that are text',
    json({
      accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: ['a', 0, 0], max: [1, 1, 0] }],
    }),
    '/accessors/0/min',
    undefined,
  ],
  [
    'weights past any number',
    json({ meshes: [{ primitives: [{ attributes: { POSITION: 0 } }], weights: [Infinity] }] }),
    '/meshes/0/weights',
    undefined,
  ],
  ['a wrap mode nobody knows', json({ samplers: [{ wrapS: 5 }] }), '/samplers/0/wrapS', undefined],
  ['no scenes', json({ scenes: undefined, scene: undefined }), '/scenes', [{ nodes: [0] }]],
  ['scenes of which none is named', json({ scenes: [{ nodes: [0] }, { nodes: [0] }], scene: undefined }), '/scene', 0],
  [
    'an extension that is not declared',
    material({ extensions: { KHR_materials_unlit: {} } }),
    '/extensionsUsed',
    ['KHR_materials_unlit'],
  ],
];

const look = (document: unknown, pointer: string): unknown =>
  pointer
    .slice(1)
    .split('/')
    .reduce<unknown>((at, key) => (at as Record<string, unknown> | undefined)?.[key], document);

describe('what cannot be right is brought to what may stand there', () => {
  it.each(CASES)('%s', async (_, document, pointer, used) => {
    const before = structuredClone(document);
    const { json: mended } = mendJson(document);
    expect(look(mended, pointer)).toEqual(used);
    expect(document).toEqual(before);
    expect(await listErrors(mended)).toEqual([]);
  });
});

it('says where, what was found and what is used, for a person', () => {
  const { damages } = mendJson(material({ occlusionTexture: { index: 0, strength: 7 } }));
  expect(damages).toEqual([
    {
      code: 'damaged-value',
      place: 'material “Oak”',
      what: 'occlusion texture, strength',
      where: '/materials/0/occlusionTexture/strength',
      seen: '7',
      expected: 'a number from 0 to 1',
      used: '1',
    },
  ]);
});

it('hands back what is right as it is, and nothing to remark on', () => {
  const right = material({ normalTexture: { index: 0, scale: 1.5 }, alphaMode: 'MASK', alphaCutoff: 0.3 });
  const { json: mended, damages } = mendJson(right);
  expect(mended).toBe(right);
  expect(damages).toEqual([]);
});

it('mends once: of what was mended nothing is left to mend', () => {
  for (const [what, document] of CASES) {
    expect(mendJson(mendJson(document).json).damages, what).toEqual([]);
  }
});

it('keeps the samplers that channels play when one of them is broken', () => {
  const channel = (sampler: number) => ({ sampler, target: { node: 0, path: 'scale' } });
  const { json: mended } = mendJson(
    animated({
      samplers: [
        { input: 9, output: 0 },
        { input: 0, output: 0 },
      ],
      channels: [channel(0), channel(1)],
    }),
  );
  expect(mended.animations).toEqual([{ samplers: [{ input: 0, output: 0 }], channels: [channel(0)] }]);
});

// By glTF 2.0, 3.9.2 to 3.9.4, a factor multiplies what its map holds, and stands alone where there is no map; metallicFactor
// is 1 by default. KHR_materials_transmission says the same of its own.
describe('a factor that only scaled a map goes with it', () => {
  const lost = {
    'a texture that is not there': { index: 4 },
    'no texture': {},
    'UVs no part has': { index: 0, texCoord: 3 },
  };
  it.each(Object.entries(lost))('%s', (_, map) => {
    const document = material({
      emissiveFactor: [1, 1, 1],
      emissiveTexture: map,
      pbrMetallicRoughness: { roughnessFactor: 0.4, metallicRoughnessTexture: map },
      extensions: { KHR_materials_transmission: { transmissionFactor: 1, transmissionTexture: map } },
    });
    const before = structuredClone(document);
    const { json: mended } = mendJson(document);
    expect(mended.materials![0]).toEqual({
      name: 'Oak',
      pbrMetallicRoughness: { roughnessFactor: 0.4, metallicFactor: 0 },
      extensions: { KHR_materials_transmission: { transmissionFactor: 0 } },
    });
    expect(document).toEqual(before);
  });

  it('but not without a map, nor with one that stays', () => {
    const none = material({ emissiveFactor: [1, 1, 1], emissiveTexture: null, doubleSided: 'yes' });
    expect(mendJson(none).json.materials![0]).toEqual({ name: 'Oak', emissiveFactor: [1, 1, 1] });
    const whole = { emissiveFactor: [1, 1, 1], emissiveTexture: { index: 0 } };
    expect(mendJson(material({ ...whole, doubleSided: 'yes' })).json.materials![0]).toEqual({ name: 'Oak', ...whole });
  });
});

// glTF 2.0, schema of animation: channels and samplers each hold at least one item.
describe('animations that play nothing', () => {
  const plays = { ...PLAYS, channels: [{ sampler: 0, target: { node: 0, path: 'scale' } }] };
  const empty = { samplers: [], channels: [] };

  it('are taken out, each with a word on it', () => {
    const { json: mended, damages } = mendJson(json({ animations: [empty, plays, { name: 'Lid' }, null] }));
    expect(mended.animations).toEqual([plays]);
    expect(damages.map(({ code, where }) => `${code} ${where}`)).toEqual([
      'damaged-animation /animations/0',
      'damaged-animation /animations/2',
      'damaged-animation /animations/3',
    ]);
  });

  it('keep their places where an extension nobody here knows may name them', () => {
    const broken = { ...PLAYS, channels: [{ sampler: 9, target: { node: 0, path: 'scale' } }] };
    const document = json({ extensionsUsed: ['EXT_nobody_knows'], animations: [empty, broken, null, plays] });
    const { json: mended, damages } = mendJson(document);
    expect(mended.animations).toEqual([empty, { ...PLAYS, channels: [] }, empty, plays]);
    expect(damages.map(({ where }) => where)).toEqual(['/animations/1/channels/0', '/animations/2']);
    expect(mendJson(mended).damages).toEqual([]);
  });
});

it.each([
  ['lists that are none', { nodes: 'x', meshes: 5, scenes: {}, materials: { a: 1 }, animations: 'x', skins: 1 }],
  ['lists of nothing', { nodes: [null], meshes: [null], scenes: [null], materials: [null], animations: [null] }],
  ['primitives that are none', { meshes: [{ primitives: 'x' }, { primitives: [null, 5] }] }],
  ['extensions that are none', { extensions: [], extensionsUsed: 'x', extensionsRequired: [5] }],
  ['children that are none', { nodes: [{ children: 'x' }, { children: [null] }, { children: [1] }] }],
  ['circles', { nodes: [{ children: [1] }, { children: [0] }] }],
])('a document of any shape is looked at without failing: %s', (_, more) => {
  expect(() => mendJson(json(more))).not.toThrow();
});
