import { describe, expect, it } from 'vitest';
import type { RepairOf } from '../../../../../server/core/repair/repair.ts';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { listReadRanges, readGlb } from '../../../../support/glb.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

// Names are free text in glTF 2.0 §3.2 and need not differ; that they do after a renaming is our own rule.

const rename = async (materials: object[], names: RepairOf<'rename-materials'>['names']) => {
  const source = triangleGlb({ materials });
  const repaired = await repairBytes(source, [{ repair: 'rename-materials', names }], 'lenient');
  expect(await listValidatorErrors(repaired.glb)).toEqual([]);
  expect(listReadRanges(readGlb(repaired.glb))).toEqual(listReadRanges(readGlb(source)));
  const [report] = repaired.reports;
  return { names: readGlb(repaired.glb).json.materials!.map(({ name }) => name), report: report!, repaired };
};

describe('rename-materials', () => {
  it('renames by name and by pointer, and keeps order and origins', async () => {
    const { names, report, repaired } = await rename(
      [{ name: 'mat_01' }, {}, { name: 'Legs' }],
      [
        { from: 'mat_01', to: 'Seat' },
        { from: '/materials/1', to: 'Back' },
      ],
    );
    expect(names).toEqual(['Seat', 'Back', 'Legs']);
    expect(report).toMatchObject({ outcome: 'done', figures: { renamed: 2 }, touchesGeometry: false });
    expect(repaired.materialOrigins).toEqual([0, 1, 2]);
  });

  it('lets two materials swap their names', async () => {
    const { names } = await rename(
      [{ name: 'Seat' }, { name: 'Back' }],
      [
        { from: 'Seat', to: 'Back' },
        { from: 'Back', to: 'Seat' },
      ],
    );
    expect(names).toEqual(['Back', 'Seat']);
  });

  it('keeps names in NFC (Unicode Standard Annex 15)', async () => {
    const { names } = await rename([{ name: 'x' }], [{ from: 'x', to: 'Che\u0302ne ' }]);
    expect(names).toEqual(['Ch\u00eane']);
  });

  it.each([
    ['another material has the name, in another case', [{ name: 'a' }, { name: 'Seat' }], [{ from: 'a', to: 'seat' }]],
    [
      'two get the same',
      [{ name: 'a' }, { name: 'b' }],
      [
        { from: 'a', to: 'Seat' },
        { from: 'b', to: 'Seat' },
      ],
    ],
    ['no material is meant', [{ name: 'a' }], [{ from: 'b', to: 'Seat' }]],
    ['two materials are meant', [{ name: 'a' }, { name: 'a' }], [{ from: 'a', to: 'Seat' }]],
    [
      'one is meant twice',
      [{ name: 'a' }],
      [
        { from: 'a', to: 'Seat' },
        { from: '/materials/0', to: 'Back' },
      ],
    ],
    ['the name is empty', [{ name: 'a' }], [{ from: 'a', to: '  ' }]],
    ['the name is too long', [{ name: 'a' }], [{ from: 'a', to: 'x'.repeat(121) }]],
    [
      'one of several is not there',
      [{ name: 'a' }],
      [
        { from: 'a', to: 'Seat' },
        { from: 'c', to: 'Back' },
      ],
    ],
  ])('is unfit, and changes nothing, when %s', async (_, materials, wanted) => {
    const { names, report } = await rename(materials, wanted);
    expect(report.outcome).toBe('unfit');
    expect(names).toEqual(materials.map(({ name }) => name));
  });

  it('has nothing to do on a model that comes with the names', async () => {
    const { report } = await rename([{ name: 'Seat' }], [{ from: 'mat_01', to: 'Seat' }]);
    expect(report.outcome).toBe('nothing-to-do');
  });
});
