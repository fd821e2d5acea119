import type { Document } from '@gltf-transform/core';
import { describe, expect, it } from 'vitest';
import { listSceneNodes } from '../../../../../server/gltf/document/world-matrices.ts';
import { measureVolumes } from '../../../../../server/gltf/geometry/orientation/check-orientation.ts';
import { findPieces } from '../../../../../server/gltf/geometry/pieces/find-pieces.ts';
import { placeScene } from '../../../../../server/gltf/geometry/place-scene.ts';
import { createDocument } from '../../../../support/build-model.ts';
import { readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import {
  addKind,
  cube,
  type Kind,
  keep,
  makeKind,
  move,
  reverse,
  sheet,
  tetrahedron,
  tube,
} from '../../../../support/inward-solids.ts';
import { makeCube, type Solid } from '../../../../support/make-solid.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { surveyBytes, surveyDocument } from '../../../../support/survey.ts';

// Fronts run counter-clockwise, and clockwise under a negative determinant: glTF 2.0 §3.7.4. Volumes by the sum of signed
// tetrahedra (Zhang and Chen, ICIP 2001), worked by hand for solids whose volume everybody knows.

async function enclose(document: Document, facing: readonly number[] = [1]) {
  const { json, bin } = readGlb(await (await createIo()).writeBinary(document));
  const model = { json, bin: bin as Buffer };
  const scene = placeScene(model, listSceneNodes(json));
  return measureVolumes(scene, findPieces(model, listSceneNodes(json), scene), facing);
}

describe('what a piece encloses', () => {
  it.each<[string, Solid, number]>([
    ['a cube of edge 2', makeCube(2), 8],
    ['the same three metres away', move(makeCube(2), 3, -3, 3), 8],
    ['the same with its corners the other way round', reverse(makeCube(2)), -8],
    ['the corner of a unit cube cut off', tetrahedron, 1 / 6],
    ['the same the other way round', reverse(tetrahedron), -1 / 6],
  ])('%s', async (_, solid, volume) => {
    const closure = await enclose(makeKind(solid));
    expect([...closure.closed]).toEqual([1]);
    expect(closure.volume[0]).toBeCloseTo(volume, 6);
  });

  it('a cube under a mirror is the right way round', async () => {
    const document = makeKind(cube);
    document.getRoot().listNodes()[0]!.setScale([-1, 1, 1]);
    expect((await enclose(document, [-1])).volume[0]).toBeCloseTo(1, 6);
  });

  it.each<[string, Solid]>([
    ['without its lid', keep(cube, (triangle) => triangle > 1)],
    ['with a hole of one triangle', keep(cube, (triangle) => triangle !== 5)],
    [
      'with one triangle the wrong way round',
      { ...cube, indices: cube.indices.map((_, at, all) => all[at === 1 ? 2 : at === 2 ? 1 : at]!) },
    ],
  ])('a cube %s is not closed', async (_, solid) => {
    expect([...(await enclose(makeKind(solid))).closed]).toEqual([0]);
  });
});

const judge = async (document: Document) =>
  (await surveyDocument(document)).survey.inward.map(({ turn, by, certain }) => ({ turn, by, certain }));

describe('what faces inward', () => {
  const volume = { turn: 'both', by: 'volume', certain: true };
  const winding = { turn: 'winding', by: 'normals', certain: true };
  const normals = { turn: 'normals', by: 'normals', certain: true };

  // a back of a double-sided material is lit with its normal turned round (§3.9.6)
  it.each<[string, Solid, Kind, readonly object[]]>([
    ['nothing of a cube', cube, {}, []],
    ['nothing of a cube with normals', cube, { normals: 'along' }, []],
    ['a cube turned inside out', reverse(cube), {}, [volume]],
    ['the same, its normals too', reverse(cube), { normals: 'along' }, [volume]],
    ['a cube whose corners alone are turned', reverse(cube), { normals: 'against' }, [winding]],
    ['a cube whose normals alone are turned', cube, { normals: 'against' }, [normals]],
    ['nothing that a double-sided material shows right', reverse(cube), { doubleSided: true, normals: 'along' }, []],
    ['normals alone, double-sided', cube, { doubleSided: true, normals: 'against' }, [normals]],
    ['corners alone, double-sided', reverse(cube), { doubleSided: true, normals: 'against' }, [winding]],
    ['nothing of a sheet in the open', sheet, { normals: 'along' }, []],
    ['nothing of the same the other way up', reverse(sheet), { normals: 'along' }, []],
    ['normals of a sheet', sheet, { doubleSided: true, normals: 'against' }, [normals]],
    ['nothing of a tube', tube, { normals: 'along' }, []],
    [
      'a tube turned inside out, which may be meant so',
      reverse(tube),
      {},
      [{ turn: 'both', by: 'view', certain: false }],
    ],
    ['nothing of an open box', keep(cube, (triangle) => triangle !== 8 && triangle !== 9), {}, []],
  ])('%s', async (_, solid, kind, expected) => {
    expect(await judge(makeKind(solid, kind))).toEqual(expected);
  });

  it('a cover over a body, of which only the back is seen', async () => {
    const document = createDocument();
    addKind(document, 'body', cube);
    addKind(document, 'cover', move(reverse(sheet), 0, 1.002, 0));
    expect(await judge(document)).toEqual([{ turn: 'both', by: 'view', certain: true }]);
  });

  it('nothing of a hollow body: its inner wall is negative, and nobody sees it', async () => {
    const document = createDocument();
    const material = document.createMaterial('shell');
    addKind(document, 'outside', cube, { material });
    addKind(document, 'inside', move(reverse(makeCube(0.9)), 0.05, 0.05, 0.05), { material });
    expect(await judge(document)).toEqual([]);
  });

  it('the walls of a room only as something that may be meant so', async () => {
    const room = keep(reverse(cube), (triangle) => triangle > 1);
    expect((await judge(makeKind(room))).every(({ certain }) => !certain)).toBe(true);
  });

  it('the same under a mirror', async () => {
    const mirrored = (solid: Solid) => {
      const document = makeKind(solid, { normals: 'along' });
      document.getRoot().listNodes()[0]!.setScale([1, 1, -1]);
      return document;
    };
    expect(await judge(mirrored(cube))).toEqual([]);
    expect(await judge(mirrored(reverse(cube)))).toEqual([volume]);
  });

  // drawn by others, in use in many programs
  it.each([
    'generic-hand/left.glb',
    'generic-trigger/none.glb',
    'google-daydream/none.glb',
    'pico-4u/left.glb',
    'pico-neo3/right.glb',
    'samsung-odyssey/left.glb',
  ])('nothing of %s', async (path) => {
    expect((await surveyBytes(readRegistryModel(path))).survey.inward).toEqual([]);
  });
});
