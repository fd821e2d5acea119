import { describe, expect, it } from 'vitest';
import { planChoices } from '../../web/viewer/plan-choices.ts';

// What a viewer offers for a file. The form of the JSON is that of the extension's specification (Khronos,
// KHR_materials_variants); what may be combined follows from the two excluded pairs below, by hand.

const mapping = (material: number, ...variants: number[]) => ({ material, variants });
const JSON_OF_FILE = {
  extensions: { KHR_materials_variants: { variants: ['One', 'Two', 'Three'].map((name) => ({ name })) } },
  meshes: [
    {
      primitives: [
        { material: 0, extensions: { KHR_materials_variants: { mappings: [mapping(1, 0, 2), mapping(2, 1)] } } },
        {
          material: 0,
          extensions: { KHR_materials_variants: { mappings: [mapping(3, 0), mapping(4, 1), mapping(5, 2)] } },
        },
        { material: 9 },
      ],
    },
  ],
};
const MANIFEST = {
  productName: 'Stool',
  default: 'V2',
  variants: [
    { code: 'V1', name: 'One', choices: { seat: 'A', legs: 'X' } },
    { code: 'V2', name: 'Two', choices: { seat: 'B', legs: 'Y' } },
    { code: 'V3', name: 'Three', choices: { seat: 'A', legs: 'Z' } },
  ],
  finishes: ['A', 'B', 'X', 'Y', 'Z'].map((finish) => ({ finish, name: `Finish ${finish}`, hex: '#123456' })),
  groups: [
    { slot: 'seat', label: 'Seat', parts: [[0, 0]] },
    { slot: 'legs', label: 'Legs', parts: [[0, 1]] },
  ],
  excluded: [
    {
      slots: ['seat', 'legs'],
      pairs: [
        ['B', 'X'],
        ['A', 'Y'],
      ],
    },
  ],
};
const state = (seat: string, legs: string) =>
  new Map([
    ['seat', seat],
    ['legs', legs],
  ]);

describe('a file alone', () => {
  const plan = planChoices(JSON_OF_FILE, null);

  it('has one list of its variants', () => {
    expect(plan.groups).toEqual([
      {
        key: '',
        label: '',
        choices: ['One', 'Two', 'Three'].map((name, at) => ({ key: String(at), name, hex: null })),
      },
    ]);
    expect(plan.start).toBe(0);
    expect(plan.assign(plan.chosenOf(1)).map(({ material }) => material)).toEqual([2, 4]);
  });

  it.each([[null], [{}], [{ meshes: 3, extensions: [] }], ['text'], [{ meshes: [{ primitives: [null] }] }]])(
    'may hold anything: %j',
    (json) => {
      expect(planChoices(json, { variants: 'no list', groups: 4 }).groups).toEqual([]);
    },
  );
});

describe('a file with its manifest', () => {
  const plan = planChoices(JSON_OF_FILE, MANIFEST);

  it('has a list for each position, and starts with the default variant', () => {
    expect(plan.groups.map(({ label, choices }) => [label, choices.map(({ key }) => key)])).toEqual([
      ['Seat', ['A', 'B']],
      ['Legs', ['X', 'Y', 'Z']],
    ]);
    expect(plan.start).toBe(1);
    expect(plan.find('v3')).toBe(2);
    expect(plan.find('Three')).toBe(2);
    expect(plan.find('none')).toBe(-1);
  });

  it('mixes finishes that no variant has together', () => {
    const mixed = plan.choose(plan.chosenOf(1), 'legs', 'Z');
    expect(mixed).toEqual(state('B', 'Z'));
    expect(plan.variantOf(mixed)).toBe(-1);
    expect(plan.isMade(mixed)).toBe(true);
    expect(plan.assign(mixed)).toEqual([
      { mesh: 0, primitive: 0, material: 2 },
      { mesh: 0, primitive: 1, material: 5 },
    ]);
  });

  it('changes what the rules forbid beside the choice, and never shows it', () => {
    expect(plan.isMade(state('B', 'X'))).toBe(false);
    expect(plan.choose(state('A', 'X'), 'seat', 'B')).toEqual(state('B', 'Y'));
    expect(plan.choose(state('A', 'Z'), 'legs', 'Y')).toEqual(state('B', 'Y'));
    expect(plan.isMade(state('none', 'X'))).toBe(false);
  });

  it('takes the nearest variant where the manifest lists no rules', () => {
    const { excluded: _, ...older } = MANIFEST;
    const strict = planChoices(JSON_OF_FILE, older);
    expect(strict.isMade(state('B', 'Z'))).toBe(false);
    expect(strict.choose(state('B', 'Y'), 'legs', 'Z')).toEqual(state('A', 'Z'));
  });
});
