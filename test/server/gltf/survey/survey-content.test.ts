import { validateBytes } from 'gltf-validator';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { Survey } from '../../../../server/core/product/survey.ts';
import { findReachable } from '../../../../server/gltf/document/find-reachable.ts';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import type { Indexed } from '../../../../server/gltf/document/visit-references.ts';
import { addPart, addTexture, createDocument } from '../../../support/build-model.ts';
import { editGlb, makeGlb, readGlb, readImage } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { createSplicer } from '../../../support/splice.ts';

const splicer = createSplicer();
const io = createIo();
afterAll(() => splicer.close());

/** Two textured parts; what a test does to it is done to the JSON. */
async function makeModel(): Promise<Uint8Array> {
  const document = createDocument();
  for (const name of ['seat', 'back']) {
    const material = document.createMaterial(name).setBaseColorTexture(await addTexture(document, name, name.length));
    addPart(document, { name, material });
  }
  return (await io).writeBinary(document);
}

const surveyEdited = async (edit: (json: GltfJson) => void) => splicer.survey(editGlb(await makeModel(), edit));

/** Objects of the document's arrays; the validator says the same of attributes that a material does not read. */
const OBJECT = /^\/\w+\/\d+$/;

/** What the Khronos validator calls UNUSED_OBJECT, as pointers. */
async function listUnusedByValidator(model: Uint8Array): Promise<string[]> {
  const report = (await validateBytes(model, { maxIssues: 0, writeTimestamp: false })) as {
    issues: { messages: { code: string; pointer: string }[] };
  };
  return report.issues.messages
    .flatMap(({ code, pointer }) => (code === 'UNUSED_OBJECT' && OBJECT.test(pointer) ? [pointer] : []))
    .sort();
}

const KINDS: readonly Indexed[] = [
  'meshes',
  'skins',
  'materials',
  'textures',
  'images',
  'samplers',
  'cameras',
  'accessors',
  'bufferViews',
];

function listUnusedByUs(json: GltfJson): string[] {
  const reachable = findReachable(json);
  return KINDS.flatMap((kind) =>
    ((json[kind] as unknown[] | undefined) ?? []).flatMap((_, i) => (reachable[kind].has(i) ? [] : [`/${kind}/${i}`])),
  ).sort();
}

describe('what nothing refers to', () => {
  it('is nothing in a model that shows all it has', async () => {
    const { unused } = await splicer.survey(await makeModel());
    expect(Object.values(unused).every((count) => count === 0)).toBe(true);
  });

  it('is counted by kind with all that hangs on it, and the bytes it alone holds', async () => {
    const before = await splicer.survey(await makeModel());
    const survey = await surveyEdited((json) => {
      json.scenes![0]!.nodes!.pop();
    });
    // the node, its mesh, its material with texture and image; of the accessors and views those it alone reads
    expect(survey.unused).toMatchObject({ nodes: 1, meshes: 1, materials: 1, textures: 1, images: 1, accessors: 4 });
    const { json } = readGlb(await makeModel());
    const image = json.bufferViews![json.images![1]!.bufferView!]!.byteLength;
    expect(survey.unused.bytes).toBeGreaterThanOrEqual(image);
    expect(survey.unused.bytes).toBeLessThan(before.bytes - before.weight.json);
    expect(survey.weight.causes.find(({ cause }) => cause === 'what nothing reads')!.bytes).toBe(survey.unused.bytes);
  });

  it('is what the validator calls unused, where objects are unused directly', async () => {
    const model = editGlb(await makeModel(), (json) => {
      json.materials!.push({ name: 'left over' }, { name: 'and another' });
      json.meshes!.push({ primitives: [{ attributes: json.meshes![0]!.primitives[0]!.attributes }] });
      json.textures!.push({ source: 0 });
      json.images!.push({ ...json.images![0]! });
      json.samplers = [...(json.samplers ?? []), {}];
      json.cameras = [{ type: 'perspective', perspective: { yfov: 1, znear: 0.1 } }];
      json.accessors!.push({ ...json.accessors![0]! });
      json.bufferViews!.push({ buffer: 0, byteLength: 4 });
    });
    const theirs = await listUnusedByValidator(model);
    expect(theirs.length).toBeGreaterThanOrEqual(8);
    expect(listUnusedByUs(readGlb(model).json)).toEqual(theirs);
  });

  it.each(['oculus-go/none.glb', 'generic-trigger/left.glb', 'oculus-touch-v3/left.glb'])(
    'holds all the validator finds in the registry model %s',
    async (path) => {
      const model = readRegistryModel(path);
      const ours = new Set(listUnusedByUs(readGlb(model).json));
      expect((await listUnusedByValidator(model)).filter((pointer) => !ours.has(pointer))).toEqual([]);
    },
  );

  it('does not hold materials that only a variant or an animation shows', async () => {
    const survey = await surveyEdited((json) => {
      json.extensionsUsed = ['KHR_materials_variants', 'KHR_animation_pointer'];
      json.extensions = { KHR_materials_variants: { variants: [{ name: 'a' }] } };
      json.materials!.push({ name: 'of a variant' }, { name: 'driven' }, { name: 'nothing' });
      json.meshes![0]!.primitives[0]!.extensions = {
        KHR_materials_variants: { mappings: [{ material: 2, variants: [0] }] },
      };
      const pointer = '/materials/3/pbrMetallicRoughness/baseColorFactor';
      const target = { path: 'pointer', extensions: { KHR_animation_pointer: { pointer } } };
      json.animations = [{ channels: [{ sampler: 0, target }], samplers: [{ input: 0, output: 0 }] }];
    });
    expect(survey.unused.materials).toBe(1);
  });

  it('keeps instances, joints and inverse bind matrices', () => {
    const json: GltfJson = {
      asset: { version: '2.0' },
      scenes: [{ nodes: [0] }],
      nodes: [
        {
          mesh: 0,
          skin: 0,
          extensions: { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 1 } } },
        },
        { name: 'joint' },
        { name: 'nothing' },
      ],
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, targets: [{ POSITION: 3 }] }] }],
      skins: [{ joints: [1], inverseBindMatrices: 2 }],
      accessors: Array.from({ length: 5 }, () => ({ componentType: 5126, count: 1, type: 'VEC3' })),
      extensionsUsed: ['EXT_mesh_gpu_instancing'],
    };
    const { accessors, nodes } = findReachable(json);
    expect([...accessors].sort()).toEqual([0, 1, 2, 3]);
    expect([...nodes].sort()).toEqual([0, 1]);
  });

  it('is no object as long as an unknown extension might refer to it', async () => {
    const survey = await surveyEdited((json) => {
      json.materials!.push({ name: 'left over' });
      json.extensionsUsed = ['VENDOR_something'];
    });
    expect(survey.unused.materials).toBe(0);
  });

  it('counts bytes no view covers, beyond the padding exporters leave', async () => {
    const { json, bin } = readGlb(await makeModel());
    const stretch = (more: number) => {
      const buffers = [{ byteLength: bin.length + more }];
      return splicer.survey(makeGlb({ ...json, buffers }, Buffer.concat([bin, Buffer.alloc(more)])));
    };
    const before = (await splicer.survey(await makeModel())).unused.bytes;
    expect(before).toBe(0);
    expect((await stretch(8)).unused.bytes).toBe(0);
    // the last view of the model is padded by up to seven bytes
    const { bytes } = (await stretch(400)).unused;
    expect(bytes - 400).toBeLessThan(8);
    expect(bytes).toBeGreaterThanOrEqual(400);
  });
});

describe('what is hidden', () => {
  const hide = (node: GltfJson['nodes'] extends (infer N)[] | undefined ? Partial<N> : never) =>
    surveyEdited((json) => {
      json.nodes = [...json.nodes!, { name: 'group', children: [0], ...node }];
      json.scenes![0]!.nodes = [2, 1];
      json.extensionsUsed = ['KHR_node_visibility'];
    });

  it('is a part scaled to nothing in any axis, by itself or by what it hangs from', async () => {
    for (const scale of [
      [0, 0, 0],
      [1, 0, 1],
    ]) {
      expect((await hide({ scale })).hidden).toEqual({ count: 1, first: [{ node: 0, name: 'seat' }] });
    }
    expect((await hide({ scale: [1, 1e-4, -1] })).hidden.count).toBe(0);
  });

  it('is a part made invisible, and all below it', async () => {
    const by = (visible: boolean) => hide({ extensions: { KHR_node_visibility: { visible } } });
    expect((await by(false)).hidden.first).toEqual([{ node: 0, name: 'seat' }]);
    expect((await by(true)).hidden.count).toBe(0);
  });
});

describe('scenes that list a node with a parent', () => {
  it('are told by their index', async () => {
    const survey = await surveyEdited((json) => {
      json.nodes![0]!.children = [1];
      json.scenes!.push({ nodes: [0] });
    });
    expect(survey.scenesWithChildren).toEqual([0]);
    // the validator has a word for it too
    expect(survey.validator.messages.map(({ code }) => code)).toContain('SCENE_NON_ROOT_NODE');
  });
});

describe('the weight of a file', () => {
  const total = ({ weight }: Survey) => weight.causes.reduce((sum, { bytes }) => sum + bytes, 0);

  it('adds up to the file but for the container’s heads and padding', async () => {
    for (const path of ['oculus-go/none.glb', 'generic-trigger/left.glb']) {
      const survey = await splicer.survey(readRegistryModel(path));
      // a GLB has 12 bytes of header and 8 for each of two chunks (glTF 2.0 §4.4)
      expect(Math.abs(survey.bytes - 28 - total(survey))).toBeLessThan(16 * 40);
      const bytes = survey.weight.causes.map((cause) => cause.bytes);
      expect(bytes).toEqual([...bytes].sort((a, b) => b - a));
    }
  });

  it('names attributes, indices and maps by what they are', async () => {
    const { weight } = await splicer.survey(await makeModel());
    const of = (name: string) => weight.causes.find(({ cause }) => cause === name)?.bytes;
    // two sheets of 25 vertices and 32 triangles: 12 bytes a position, 8 a UV, 2 an index
    expect([of('POSITION'), of('NORMAL'), of('TEXCOORD_0'), of('indices')]).toEqual([600, 600, 400, 384]);
    expect(of('colour maps')).toBe(weight.images);
    expect(of('JSON')).toBe(weight.json);
  });
});

describe('memory of a graphics card', () => {
  it('is views as they stand, and textures as RGBA with mip levels', async () => {
    const { gpu } = await splicer.survey(await makeModel());
    // two maps of 32 × 32; mip levels add a third (common practice)
    expect(gpu.textures).toBe(Math.round(2 * 32 * 32 * 4 * (4 / 3)));
    expect(gpu.geometry).toBe(600 + 600 + 400 + 384);
  });

  it('counts what nothing shows for nothing', async () => {
    const { gpu } = await surveyEdited((json) => {
      json.scenes![0]!.nodes!.pop();
    });
    expect(gpu.textures).toBe(Math.round(32 * 32 * 4 * (4 / 3)));
  });
});

describe('images of a model', () => {
  it('come with what is in them, why they cannot be read, and their quality', async () => {
    const document = createDocument();
    const jpeg = await sharp({ create: { width: 16, height: 16, channels: 3, background: '#407ce7' } })
      .jpeg({ quality: 85, chromaSubsampling: '4:4:4' })
      .toBuffer();
    const put = (name: string, bytes: Buffer) =>
      document.createTexture(name).setMimeType('image/jpeg').setImage(new Uint8Array(bytes));
    const material = document
      .createMaterial('m')
      .setBaseColorTexture(put('plain', jpeg))
      .setEmissiveTexture(put('cut', jpeg.subarray(0, jpeg.length - 20)));
    addPart(document, { name: 'part', material });
    const { images } = await splicer.survey(await (await io).writeBinary(document));
    expect(images[0]).toMatchObject({ jpegQuality: 85, undecodable: null, content: { constant: true } });
    expect(images[1]!.content).toBeNull();
    expect(images[1]!.undecodable).toMatch(/\w/);
  });

  it('of a material with a neutral detail map come with its mean, as its triangles show it', async () => {
    const survey = await surveyEdited((json) => {
      json.materials![0]!.extras = { neutralDetail: { mean: 0.42 } };
      json.materials![1]!.pbrMetallicRoughness!.metallicFactor = 0.25;
      json.materials![1]!.extras = { neutralDetail: { mean: 'half' } };
    });
    // the sheet shows the map once, whole: sharp decodes it, IEC 61966-2-1 makes light of it, BT.709 luminance
    const { data, info } = await sharp(readImage(readGlb(await makeModel()), 0)!)
      .raw()
      .toBuffer({ resolveWithObject: true });
    let sum = 0;
    for (let i = 0; i < data.length; i += info.channels) {
      [0.2126, 0.7152, 0.0722].forEach((weight, c) => {
        const value = data[i + c]! / 255;
        sum += weight * (value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4);
      });
    }
    expect(survey.materials[0]!.neutralDetail!.mean).toBeCloseTo(sum / (data.length / info.channels), 4);
    expect(survey.materials[1]!.neutralDetail).toBeNull();
    expect(survey.materials[1]!.factors).toEqual({ baseColor: [1, 1, 1, 1], metallic: 0.25, roughness: 1 });
  });
});
