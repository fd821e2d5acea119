import { describe, expect, it } from 'vitest';
import {
  deriveSlots,
  KEEP_ALL,
  type Keep,
  NORMAL_KEEPS,
  readNormalKeep,
  type Slot,
} from '../../../../server/core/product/slot.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

// From the contract: keys are `[a-z0-9-]{1,64}`, “derived from the material's name, numbered on collision, kept across
// revisions”; slots are “derived from materials”.
const derive = (names: string[], earlier: readonly Slot[] = []) =>
  deriveSlots(makeSurvey(names, [names.map((_, material) => ({ material }))]), earlier);
const keys = (slots: readonly Slot[]) => slots.map(({ slot }) => slot);

describe('slots', () => {
  it('are one for each material, keyed by its name', () => {
    const slots = derive(['Seat Shell', 'Füße_Ø', 'LEGS']);
    expect(keys(slots)).toEqual(['seat-shell', expect.stringMatching(/^fu/), 'legs']);
    expect(slots[0]).toMatchObject({ label: 'Seat Shell', materials: [0], fixed: false, options: null });
  });

  it.each([[['Seat', 'seat', 'SEAT ', 'Seat-2']], [['', '', '%%%', '漆']], [['x'.repeat(200), 'x'.repeat(201)]]])(
    'have valid keys, all different: %j',
    (names) => {
      const all = keys(derive(names));
      expect(new Set(all).size).toBe(names.length);
      for (const key of all) expect(key).toMatch(/^[a-z0-9-]{1,64}$/);
    },
  );

  it('hold every primitive that draws the material, and no primitive that draws nothing', () => {
    const survey = makeSurvey(
      ['A', 'B', 'Unused', 'Hidden'],
      [
        [{ material: 0, triangles: 10 }, { material: 1 }],
        [
          { material: 0, triangles: 5 },
          { material: 3, uses: 0 },
          { material: 1, triangles: 0 },
        ],
      ],
    );
    const slots = deriveSlots(survey, []);
    expect(keys(slots)).toEqual(['a', 'b']);
    expect(slots[0]!.primitives).toEqual([
      { mesh: 0, primitive: 0 },
      { mesh: 1, primitive: 0 },
    ]);
    expect(slots[0]!.triangles).toBe(15);
    expect(slots[1]!.primitives).toEqual([{ mesh: 0, primitive: 1 }]);
  });

  it('hold primitives without a material together', () => {
    const slots = deriveSlots(makeSurvey(['A'], [[{ material: null }, { material: 0 }], [{ material: null }]]), []);
    expect(slots.find((slot) => slot.materials[0] === null)!.primitives).toEqual([
      { mesh: 0, primitive: 0 },
      { mesh: 1, primitive: 0 },
    ]);
  });
});

describe('the normal map that a slot shows', () => {
  it('is set in a word, or as a boolean in older slots: the part’s own map stays or goes', () => {
    for (const word of NORMAL_KEEPS) expect(readNormalKeep(word)).toBe(word);
    expect(readNormalKeep(true)).toBe('part');
    expect(readNormalKeep(false)).toBe('finish');
    expect(readNormalKeep(KEEP_ALL.normal)).toBe('part');
  });

  // A slot without settings takes the new name of its material.
  it.each<[Partial<Keep>, string]>([
    [{}, 'shell'],
    [{ normal: 'both-or-part' }, 'seat'],
    [{ normal: 'both-or-finish' }, 'seat'],
    [{ normal: 'part' }, 'shell'],
    [{ normal: false }, 'seat'],
    [{ wear: false }, 'seat'],
  ])('counts as touched, or not: %j', (keep, key) => {
    const known = derive(['Seat']).map((slot) => ({ ...slot, keep: { ...slot.keep, ...keep } }));
    const claims = new Map([[0, 'seat']]);
    const survey = makeSurvey(['Shell'], [[{ material: 0 }]]);
    expect(keys(deriveSlots(survey, known, claims))).toEqual([key]);
  });

  it('is unset in a slot older than wear and detail', () => {
    const { wear: _, detail: __, ...old } = KEEP_ALL;
    const known = derive(['Seat']).map((slot) => ({ ...slot, keep: old as Keep }));
    expect(keys(deriveSlots(makeSurvey(['Shell'], [[{ material: 0 }]]), known, new Map([[0, 'seat']])))).toEqual([
      'shell',
    ]);
  });
});

describe('slots of a model exported again', () => {
  const first = derive(['Seat', 'Legs', 'Cord']).map((slot) =>
    slot.slot === 'seat'
      ? { ...slot, label: 'Seat shell', position: 'seat', options: { grades: ['A'] }, grainDegrees: 90 }
      : slot.slot === 'legs'
        ? { ...slot, fixed: true, keep: { ...slot.keep, normal: false } }
        : slot,
  );

  it('keep key and settings by the material’s name when materials are reordered', () => {
    const again = derive(['Cord', 'Legs', 'Seat'], first);
    for (const before of first) {
      const after = again.find((slot) => slot.slot === before.slot)!;
      const index = ['Cord', 'Legs', 'Seat'].indexOf(before.materialName);
      expect(after).toEqual({ ...before, materials: [index], primitives: [{ mesh: 0, primitive: index }] });
    }
    expect(again).toHaveLength(3);
  });

  it('stay, without parts, when the material is gone, and match again when it is back', () => {
    const without = derive(['Seat', 'Cord'], first);
    expect(without.find((slot) => slot.slot === 'legs')).toMatchObject({ primitives: [], triangles: 0, fixed: true });
    const back = derive(['Seat', 'Cord', 'Legs'], without);
    expect(back.find((slot) => slot.slot === 'legs')).toMatchObject({ fixed: true, materials: [2] });
    expect(back).toHaveLength(3);
  });

  it('give a new material a key of its own that was never used before', () => {
    const without = derive(['Seat'], derive(['Seat', 'legs!']));
    const again = derive(['Seat', 'Legs'], without);
    expect(keys(again)).toEqual(expect.arrayContaining(['seat', 'legs', 'legs-2']));
    expect(again.find((slot) => slot.materialName === 'Legs')!.slot).toBe('legs-2');
  });

  it('keep their order among materials of one name', () => {
    const twins = derive(['Wood', 'Wood']);
    expect(keys(twins)).toEqual(['wood', 'wood-2']);
    const again = derive(['Metal', 'Wood', 'Wood'], twins);
    expect(again.find((slot) => slot.slot === 'wood')!.materials).toEqual([1]);
    expect(again.find((slot) => slot.slot === 'wood-2')!.materials).toEqual([2]);
  });
});
