import { zipSync } from 'fflate';
import { afterAll, describe, expect, it } from 'vitest';
import type { ProblemCode } from '../../../../server/core/problems.ts';
import {
  glbWithImage,
  pngHeader,
  TRIANGLE_BIN,
  triangleGlb,
  triangleGltf,
  triangleJson,
} from '../../../support/bad-models.ts';
import { makeNoisePng } from '../../../support/build-model.ts';
import { makeGlb } from '../../../support/glb.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { createSplicer } from '../../../support/splice.ts';

// What cannot be read is refused with a code; what can be read is surveyed. glTF 2.0 by
// KhronosGroup/glTF 77b44be, specification/2.0/Specification.adoc and its schemas.

const splicer = createSplicer();
afterAll(() => splicer.close());

const text = (content: string) => new TextEncoder().encode(content);

const view = (byteOffset: number, byteLength: number) => ({
  bufferViews: [{ buffer: 0, byteOffset, byteLength }],
});
const accessor = (more: Record<string, unknown>) => ({
  accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 0], ...more }],
});

describe('a model that can be read', () => {
  it.each([
    ['a GLB', () => triangleGlb(), 'model/gltf-binary'],
    ['a self-contained .gltf', () => text(triangleGltf()), 'model/gltf+json'],
    ['a zip', () => zipSync({ 'm.gltf': text(triangleGltf('m.bin')), 'm.bin': TRIANGLE_BIN }), 'application/zip'],
    [
      'a zip with folders, a name in per cent and files of the system beside it',
      () =>
        zipSync({
          'model/my chair.gltf': text(triangleGltf('../bins/the%20bytes.bin')),
          'bins/the bytes.bin': TRIANGLE_BIN,
          '__MACOSX/._my chair.gltf': text('x'),
        }),
      'application/zip',
    ],
  ] as const)('%s', async (_, make, type) => {
    const survey = await splicer.survey(make(), type);
    expect(survey.counts).toMatchObject({ triangles: 1, materials: 1, meshes: 1 });
    expect(survey.size).toEqual({ widthMm: 1000, depthMm: 0, heightMm: 1000 });
  });
});

describe('a model that cannot be read', () => {
  it.each<[string, () => Uint8Array, ...ProblemCode[]]>([
    ['an accessor past its view', () => triangleGlb(accessor({ count: 4 })), 'model-broken-reference'],
    ['an accessor pushed past its view', () => triangleGlb(accessor({ byteOffset: 4 })), 'model-broken-reference'],
    ['an accessor of absurd count', () => triangleGlb(accessor({ count: 2 ** 52 })), 'model-broken-reference'],
    ['an accessor of a negative count', () => triangleGlb(accessor({ count: -1 })), 'model-broken-reference'],
    [
      'an accessor of a view that is not there',
      () => triangleGlb(accessor({ bufferView: 1 })),
      'model-broken-reference',
    ],
    ['an accessor of a type nobody knows', () => triangleGlb(accessor({ type: 'VEC9' })), 'model-broken-reference'],
    ['a view past its buffer', () => triangleGlb(view(4, 36)), 'model-broken-reference'],
    ['a view of negative offset', () => triangleGlb(view(-4, 36)), 'model-broken-reference'],
    [
      'a primitive of an accessor that is not there',
      () => triangleGlb({ meshes: [{ primitives: [{ attributes: { POSITION: 7 } }] }] }),
      'model-broken-reference',
    ],
    [
      'a primitive of a material that is not there',
      () => triangleGlb({ meshes: [{ primitives: [{ attributes: { POSITION: 0 }, material: 3 }] }] }),
      'model-broken-reference',
    ],
    [
      'a node that is its own child',
      () => triangleGlb({ nodes: [{ mesh: 0, children: [0] }] }),
      'model-broken-reference',
    ],
    [
      'three nodes in a circle',
      () => triangleGlb({ nodes: [{ mesh: 0, children: [1] }, { children: [2] }, { children: [0] }] }),
      'model-broken-reference',
    ],
    [
      'a circle beside the scene',
      () => triangleGlb({ nodes: [{ mesh: 0 }, { children: [2] }, { children: [1] }] }),
      'model-broken-reference',
    ],
    // mesh.schema.json and mesh.primitive.schema.json: `primitives` and `attributes` are required
    ['a mesh without primitives', () => triangleGlb({ meshes: [{}] }), 'model-broken-reference'],
    [
      'a primitive whose attributes are null',
      () => triangleGlb({ meshes: [{ primitives: [{ attributes: null }] }] }),
      'model-broken-reference',
    ],
    ['meshes that are no list', () => triangleGlb({ meshes: {} }), 'model-broken-reference'],
    ['a node that is null', () => triangleGlb({ nodes: [null] }), 'model-broken-reference'],
    [
      'a buffer in another file',
      () => makeGlb(triangleJson({ buffers: [{ byteLength: 36, uri: 'chair.bin' }] }), TRIANGLE_BIN),
      'model-outside-file',
    ],
    ['an image in another file', () => triangleGlb({ images: [{ uri: 'textures/oak.png' }] }), 'model-outside-file'],
    [
      'an image on the web',
      () => triangleGlb({ images: [{ uri: 'http://127.0.0.1:9/oak.png' }] }),
      'model-outside-file',
    ],
    ['an image on the disk', () => triangleGlb({ images: [{ uri: 'file:///etc/hostname' }] }), 'model-outside-file'],
    ['an image of absurd size', () => glbWithImage(pngHeader(60_000, 60_000)), 'image-too-large'],
  ])('is refused: %s', async (_, make, ...codes) => {
    const problem = await expectRefusal(() => splicer.survey(make()), ...codes);
    expect(problem.message.length).toBeGreaterThan(20);
  });

  it('is told from one with an image that only looks alike: 60,000 × 1 pixels are taken', async () => {
    const survey = await splicer.survey(glbWithImage(pngHeader(60_000, 1)));
    expect(survey.images[0]).toMatchObject({ widthPx: 60_000, heightPx: 1 });
  });

  it.each<[string, () => Uint8Array, ProblemCode]>([
    ['a .gltf that names a file', () => text(triangleGltf('m.bin')), 'model-outside-file'],
    ['a .gltf whose buffer is shorter than it says', () => text(triangleGltf('data:;base64,AAAA')), 'model-truncated'],
    ['a .gltf that is no JSON', () => text('glTF'), 'model-json'],
    ['a .gltf that is a list', () => text('[]'), 'model-json'],
  ])('is refused: %s', async (_, make, code) => {
    await expectRefusal(() => splicer.survey(make(), 'model/gltf+json'), code);
  });

  const zipped =
    (uri: string, more: Record<string, Uint8Array> = {}) =>
    () =>
      zipSync({ 'sub/m.gltf': text(triangleGltf(uri)), ...more });

  it.each<[string, () => Uint8Array, ProblemCode]>([
    ['a file that is not in the zip', zipped('m.bin'), 'archive-missing-file'],
    ['a file that is in another folder', zipped('m.bin', { 'm.bin': TRIANGLE_BIN }), 'archive-missing-file'],
    ['a URI that leaves the zip', zipped('../../m.bin', { 'm.bin': TRIANGLE_BIN }), 'archive-path'],
    ['a URI that leaves the zip, in per cent', zipped('%2e%2e/%2e%2e/m.bin'), 'archive-path'],
    ['an entry that leaves the zip', zipped('../m.bin', { '../m.bin': TRIANGLE_BIN }), 'archive-path'],
    ['a URI on the web', zipped('https://127.0.0.1:9/m.bin'), 'model-outside-file'],
    ['a file shorter than its buffer', zipped('m.bin', { 'sub/m.bin': new Uint8Array(8) }), 'model-truncated'],
    ['no .gltf', () => zipSync({ 'm.bin': TRIANGLE_BIN }), 'archive-no-model'],
    ['an empty zip', () => zipSync({}), 'archive-no-model'],
    [
      'two .gltf',
      () => zipSync({ 'a.gltf': text(triangleGltf()), 'b.gltf': text(triangleGltf()) }),
      'archive-no-model',
    ],
    ['a .gltf that is no JSON', () => zipSync({ 'a.gltf': text('{') }), 'model-json'],
    ['no zip', () => TRIANGLE_BIN, 'archive-unreadable'],
  ])('is refused: a zip with %s', async (_, make, code) => {
    await expectRefusal(() => splicer.survey(make(), 'application/zip'), code);
  });

  it('leaves the reader fit for the next one', async () => {
    await expectRefusal(() => splicer.survey(triangleGlb({ nodes: [{ children: [0] }] })), 'model-broken-reference');
    expect((await splicer.survey(glbWithImage(await makeNoisePng(1, 8)))).images).toEqual([
      expect.objectContaining({ widthPx: 8, heightPx: 8, mimeType: 'image/png' }),
    ]);
  });
});
