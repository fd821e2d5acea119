import { describe, expect, it } from 'vitest';
import { meanScale } from '../../../../../server/gltf/document/world-matrices.ts';
import { addPart, createDocument } from '../../../../support/build-model.ts';
import { surveyDocument } from '../../../../support/survey.ts';

// a uniform scale s makes a unit cube s³; turning and mirroring change no volume
describe('the scale of a mesh', () => {
  it.each<[string, number[], number]>([
    ['an identity', [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1], 1],
    ['a scale', [3, 0, 0, 0, 0, 3, 0, 0, 0, 0, 3, 0, 9, 9, 9, 1], 3],
    ['a quarter turn and a scale', [0, 2, 0, 0, -2, 0, 0, 0, 0, 0, 2, 0, 0, 0, 0, 1], 2],
    ['a mirror', [-5, 0, 0, 0, 0, 5, 0, 0, 0, 0, 5, 0, 0, 0, 0, 1], 5],
    ['an uneven scale', [1, 0, 0, 0, 0, 3, 0, 0, 0, 0, 9, 0, 0, 0, 0, 1], 3],
    ['a flat one', [1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1], 0],
  ])('%s', (_, matrix, expected) => {
    expect(meanScale(matrix)).toBeCloseTo(expected, 12);
  });

  it('is told of every node that draws it, and of none as null', async () => {
    const document = createDocument();
    const mesh = addPart(document, { name: 'a', material: document.createMaterial('m') });
    const scene = document.getRoot().listScenes()[0]!;
    scene.addChild(document.createNode('b').setMesh(mesh).setScale([0.5, 0.5, 0.5]));
    scene.addChild(document.createNode('c').setMesh(mesh).setScale([0, 0, 0]));
    expect((await surveyDocument(document)).survey.primitives[0]!.scale).toEqual({ low: 0.5, high: 1 });
    for (const node of scene.listChildren()) scene.removeChild(node);
    expect((await surveyDocument(document)).survey.primitives[0]!.scale).toBeNull();
  });

  it('goes by the joints of a skin, whatever the node that holds it says', async () => {
    const document = createDocument();
    const mesh = addPart(document, { name: 'a', material: document.createMaterial('m') });
    const primitive = mesh.listPrimitives()[0]!;
    const count = primitive.getAttribute('POSITION')!.getCount();
    const buffer = document.getRoot().listBuffers()[0]!;
    const accessor = (array: Uint8Array<ArrayBuffer> | Float32Array<ArrayBuffer>) =>
      document.createAccessor().setType('VEC4').setArray(array).setBuffer(buffer);
    primitive.setAttribute('JOINTS_0', accessor(new Uint8Array(count * 4)));
    primitive.setAttribute('WEIGHTS_0', accessor(new Float32Array(count * 4).map((_, at) => (at % 4 === 0 ? 1 : 0))));
    const joint = document.createNode('joint').setScale([0.01, 0.01, 0.01]);
    document.getRoot().listScenes()[0]!.addChild(joint);
    document.getRoot().listNodes()[0]!.setScale([7, 7, 7]).setSkin(document.createSkin().addJoint(joint));
    expect((await surveyDocument(document)).survey.primitives[0]!.scale).toEqual({ low: 0.01, high: 0.01 });
  });
});
