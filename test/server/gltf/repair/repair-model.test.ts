import { describe, expect, it } from 'vitest';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { ModelEdit } from '../../../../server/gltf/repair/edit/model-edit.ts';
import { TRIANGLE_BIN, triangleGlb, triangleJson } from '../../../support/bad-models.ts';
import { makeGlb, readGlb } from '../../../support/glb.ts';
import { repairBytes } from '../../../support/repair.ts';

// Our own rules; that they hold on every model is every-repair.test.ts.

describe('a chain of repairs', () => {
  const CHAIN = [
    { repair: 'scale', factor: 2 },
    { repair: 'rename-materials', names: [{ from: 'Nobody', to: 'Back' }] },
    { repair: 'rename-materials', names: [{ from: 'Seat', to: 'Cushion' }] },
  ] as const;

  it('leaves out what does not fit, and goes on, when it is lenient', async () => {
    const { glb, reports } = await repairBytes(triangleGlb(), CHAIN, 'lenient');
    expect(reports.map(({ outcome }) => outcome)).toEqual(['done', 'unfit', 'done']);
    expect(readGlb(glb).json.materials).toEqual([{ name: 'Cushion' }]);
  });

  it('is refused with the place of the first that does not fit when it is strict', async () => {
    await expect(repairBytes(triangleGlb(), CHAIN)).rejects.toMatchObject({
      code: 'repair-unfit',
      more: { where: '/repairs/1' },
    });
  });

  it('says what it would lose, and loses it once that is accepted', async () => {
    const source = triangleGlb({
      extensionsUsed: ['ACME_hinges'],
      nodes: [{ mesh: 0, extensions: { ACME_hinges: { at: [1, 2, 3] } } }],
    });
    const ask = { repair: 'scale', factor: 2 } as const;
    await expect(repairBytes(source, [ask])).rejects.toMatchObject({ code: 'repair-would-lose' });
    const { reports } = await repairBytes(source, [{ ...ask, accept: true }]);
    expect(reports[0]!.losses).toHaveLength(1);
  });

  it('says what stays in the file that nothing uses, where an extension nobody knows may refer to it', async () => {
    const { glb, reports } = await repairBytes(triangleGlb({ extensionsUsed: ['ACME_hinges'] }), [
      { repair: 'scale', factor: 2 },
    ]);
    expect(reports[0]!.figures.unusedLeft).toBe(2);
    expect(reports[0]!.message).toContain('ACME_hinges');
    expect(readGlb(glb).json.accessors).toHaveLength(2);
    expect(readGlb(glb).json.bufferViews).toHaveLength(2);
  });

  it('says that geometry was let be where the factor went on nodes', async () => {
    const quantised = triangleGlb({
      extensionsUsed: ['KHR_mesh_quantization'],
      extensionsRequired: ['KHR_mesh_quantization'],
      accessors: [{ bufferView: 0, componentType: 5122, count: 3, type: 'VEC3', min: [0, 0, 0], max: [0, 0, 16256] }],
      bufferViews: [{ buffer: 0, byteLength: 36, byteStride: 8 }],
    });
    const [plain, packed] = await Promise.all(
      [triangleGlb(), quantised].map((source) => repairBytes(source, [{ repair: 'scale', factor: 2 }])),
    );
    expect(plain!.reports[0]!.touchesGeometry).toBe(true);
    expect(packed!.reports[0]!.touchesGeometry).toBe(false);
  });
});

describe('an edit', () => {
  it('can be taken back whole', () => {
    const json = triangleJson() as unknown as GltfJson;
    const edit = new ModelEdit(json, TRIANGLE_BIN);
    const before = JSON.stringify(json);
    const takeBack = edit.takeSnapshot();
    edit.addAccessor(new Float32Array(3), 'VEC3', { bounds: true });
    edit.addMaterial({ name: 'Back' }, 0);
    edit.freedRanges.push({ start: 0, end: 36 });
    json.nodes!.push({ name: 'Lamp' });
    takeBack();
    expect(JSON.stringify(json)).toBe(before);
    expect(edit.added.size).toBe(0);
    expect(edit.freedRanges).toEqual([]);
    expect(edit.materialOrigins).toEqual([0]);
  });

  it('makes room for bytes only where some are added: an empty first buffer of meshopt stays first', async () => {
    const uri = `data:application/octet-stream;base64,${TRIANGLE_BIN.toString('base64')}`;
    const meshopt = { buffer: 1, byteLength: 36, byteStride: 12, count: 3, mode: 'ATTRIBUTES' };
    const source = makeGlb(
      triangleJson({
        extensionsUsed: ['EXT_meshopt_compression'],
        bufferViews: [{ buffer: 0, byteLength: 36, extensions: { EXT_meshopt_compression: meshopt } }],
        buffers: [
          { byteLength: 36, extensions: { EXT_meshopt_compression: { fallback: true } } },
          { byteLength: 36, uri },
        ],
      }),
    );
    const { glb } = await repairBytes(source, []);
    expect(readGlb(glb).json).toEqual(readGlb(source).json);
  });
});
