import { Document } from '@gltf-transform/core';
import { describe, expect, it } from 'vitest';
import { addSolid, makeGrid } from '../../../../support/make-solid.ts';
import { surveyDocument } from '../../../../support/survey.ts';

/** Sheets of `side` metres whose UVs run over `units` units. */
async function measure(...sheets: readonly { side: number; units: number; node: string }[]) {
  const document = new Document();
  const material = document.createMaterial('part');
  sheets.forEach(({ side, units, node }, index) => {
    const sheet = makeGrid(2, 2, (u, v) => [u * side, v * side, index * 10]);
    addSolid(document, node, { ...sheet, uvs: sheet.uvs.map((value) => value * units) }, material);
  });
  const { survey, pieces } = await surveyDocument(document);
  return { densities: survey.materials[0]!.densities, pieces };
}

// a square of side a laid over b units has a/b metres to the unit
describe('the densities of a material’s pieces', () => {
  it('are told by piece, the largest area first', async () => {
    const { densities, pieces } = await measure(
      { side: 1, units: 2, node: 'fine' },
      { side: 2, units: 1, node: 'coarse' },
      { side: 1, units: 2.01, node: 'nearly as fine' },
    );
    expect(densities).toEqual([
      {
        metresPerUv: expect.closeTo(2, 6),
        areaM2: expect.closeTo(4, 6),
        count: 1,
        pieces: [expect.any(String)],
        nodes: ['coarse'],
      },
      {
        metresPerUv: expect.closeTo((1 / 2 + 1 / 2.01) / 2, 5),
        areaM2: expect.closeTo(2, 6),
        count: 2,
        pieces: [expect.any(String), expect.any(String)],
        nodes: expect.arrayContaining(['fine', 'nearly as fine']),
      },
    ]);
    const known = new Set(pieces.map(({ piece }) => piece));
    for (const { pieces: ids } of densities) for (const id of ids) expect(known).toContain(id);
  });

  it('leave out pieces whose UVs have no area, and count what each node’s scale makes of them', async () => {
    expect((await measure({ side: 1, units: 0, node: 'a' })).densities).toEqual([]);
    const document = new Document();
    const material = document.createMaterial('part');
    const sheet = makeGrid(2, 2, (u, v) => [u, v, 0]);
    const node = addSolid(document, 'plain', sheet, material);
    document
      .getRoot()
      .listScenes()[0]!
      .addChild(document.createNode('larger').setMesh(node.getMesh()).setScale([3, 3, 3]).setTranslation([5, 0, 0]));
    const { densities } = (await surveyDocument(document)).survey.materials[0]!;
    expect(densities.map(({ metresPerUv, nodes }) => [Math.round(metresPerUv * 1e6) / 1e6, nodes])).toEqual([
      [3, ['larger']],
      [1, ['plain']],
    ]);
  });

  it('stay twenty groups at most', async () => {
    const many = Array.from({ length: 30 }, (_, i) => ({ side: 1, units: 1.1 ** i, node: `${i}` }));
    expect((await measure(...many)).densities).toHaveLength(20);
  });
});
