import { describe, expect, it } from 'vitest';
import { REPAIRS, type Repair, type RepairName, type RepairOf } from '../../server/core/repair/repair.ts';
import { moveItem } from '../../web/pages/product/preparation/preparation-model.ts';
import { describeOrigin, describeRepair } from '../../web/pages/product/readiness/describe-repair.ts';
import {
  addTurn,
  assignSteps,
  chooseRepair,
  dropTurns,
  editStep,
  findStep,
  listChosen,
  mergeProposals,
  type Step,
  tickRepair,
} from '../../web/pages/product/readiness/repair-chain.ts';
import { findRenamed, mergeGroups, renameGroup } from '../../web/pages/product/readiness/repair-step.tsx';

// How repairs are shown and chosen. No standard governs the wording. These tests check that every setting is described,
// and that the ticked repairs are sent.

const groups = [
  { name: 'oak', pieces: ['00000000000a', '00000000000b'], hex: '#a97c50', shapes: ['000000000001'] },
  { name: 'cloth', pieces: ['00000000000c'], hex: '#2f4d7a', shapes: ['000000000002'] },
  { name: 'black', pieces: ['00000000000d'], hex: '#1e1e20', shapes: ['000000000001'] },
];
const separate: RepairOf<'separate-pieces'> = { repair: 'separate-pieces', material: 'Baked', groups };
const centimetres: Repair = { repair: 'scale', factor: 0.01, unit: 'cm', seenHeightMm: 82_000 };
const inches: Repair = { repair: 'scale', factor: 0.0254, unit: 'inch', seenHeightMm: 82_000 };

const names = (steps: readonly Step[]) => steps.map(({ repair }) => repair.repair);

describe('the description of a repair', () => {
  it('describes every repair, with its settings', () => {
    const said: Readonly<Record<RepairName, readonly [Repair, RegExp]>> = {
      scale: [centimetres, /^Scale by 0\.01: the model was drawn in centimetres$/],
      place: [{ repair: 'place', mount: 'ceiling', centred: false }, /ceiling.*without moving/],
      'bake-transforms': [{ repair: 'bake-transforms' }, /scale 1/],
      'merge-parts': [{ repair: 'merge-parts' }, /per material/],
      'separate-pieces': [separate, /^Separate the pieces of “Baked” into 3 slots: oak, cloth and black$/],
      'set-nonmetal': [{ repair: 'set-nonmetal', materials: ['oak', '/materials/3'] }, /“oak” and material 3/],
      'neutral-detail': [{ repair: 'neutral-detail', materials: ['oak'] }, /map of “oak”.*neutral/],
      'fit-textures': [
        { repair: 'fit-textures', sizePx: 1024, format: 'webp', quality: 85, lossyNormals: true },
        /1024 px.*WebP.*85.*normal/,
      ],
      'strip-unused': [{ repair: 'strip-unused' }, /does not use/],
      'rename-materials': [
        { repair: 'rename-materials', names: [{ from: '/materials/0', to: 'oak' }] },
        /material 0 to “oak”/,
      ],
      'fix-scene': [{ repair: 'fix-scene' }, /without a parent/],
      'unshare-mesh': [{ repair: 'unshare-mesh', meshes: ['leg'] }, /“leg”/],
      'box-uvs': [{ repair: 'box-uvs', materials: ['oak'], metresPerUnit: 0.5 }, /“oak”.*0\.5 m per unit.*replacing/],
      'turn-outward': [{ repair: 'turn-outward', pieces: ['00000000000a'] }, /^Turn 1 piece outward$/],
      turn: [{ repair: 'turn', axis: 'y', degrees: -90 }, /^Turn 90° clockwise, seen from above$/],
    };
    expect(Object.keys(said).sort()).toEqual(Object.keys(REPAIRS).sort());
    for (const [repair, words] of Object.values(said)) expect(describeRepair(repair)).toMatch(words);
  });

  it('distinguishes a unit, its reverse and a height', () => {
    expect(describeRepair({ repair: 'scale', factor: 1 / 0.0254, unit: 'metres taken for inch' })).toBe(
      'Scale by 39.37: its metres were read as inches',
    );
    expect(describeRepair({ repair: 'scale', toHeightMm: 820 })).toBe('Scale to a height of 820 mm');
  });

  it('counts items that are too many to list', () => {
    const many = { ...separate, groups: [...'abcdef'].map((name) => ({ name, pieces: [] })) };
    expect(describeRepair(many)).toContain('6 slots: a, b, c, d and 2 more');
  });
});

describe('turns', () => {
  const turns = (steps: readonly Step[]) =>
    steps.flatMap(({ repair }) => (repair.repair === 'turn' ? [`${repair.axis} ${repair.degrees}`] : []));

  it('about one axis are added up, and disappear when they cancel out', () => {
    const half = addTurn(addTurn([], 'y', 90), 'y', 90);
    expect(turns(half)).toEqual(['y 180']);
    expect(turns(addTurn(half, 'y', 90))).toEqual(['y -90']);
    expect(turns(addTurn(half, 'y', 180))).toEqual([]);
  });

  it('about several axes keep their order, before parts are merged and placed', () => {
    const chain = mergeProposals([], [{ repair: 'merge-parts' }, { repair: 'place', mount: 'floor' }]);
    const turned = addTurn(addTurn(addTurn(chain, 'y', 90), 'x', 90), 'y', 90);
    expect(turns(turned)).toEqual(['y 90', 'x 90', 'y 90']);
    expect(names(turned)).toEqual(['turn', 'turn', 'turn', 'merge-parts', 'place']);
    expect(new Set(turned.map(({ key }) => key)).size).toBe(5);
  });
});

describe('a turn that a person has added', () => {
  it('stays when the findings are loaded again, until the model changes', () => {
    const turned = addTurn([], 'y', 90);
    const again = mergeProposals(turned, [{ repair: 'place', mount: 'floor' }]);
    expect(names(again)).toEqual(['turn', 'place']);
    expect(names(dropTurns(again))).toEqual(['place']);
  });

  it('does not count when it is unticked', () => {
    const off = addTurn([], 'y', 90).map((step) => ({ ...step, on: false }));
    expect(listChosen(addTurn(off, 'y', 90))).toEqual([{ repair: 'turn', axis: 'y', degrees: 90 }]);
  });
});

describe('the chain of repairs', () => {
  it('has every proposal ticked, and keeps ticks and edits when it is loaded again', () => {
    const first = mergeProposals([], [separate, { repair: 'merge-parts' }]);
    expect(listChosen(first)).toEqual([separate, { repair: 'merge-parts' }]);
    const edited = editStep(tickRepair(first, { repair: 'merge-parts' }, false), first[0]!.key, {
      ...separate,
      groups: groups.slice(1),
    });
    const again = mergeProposals(edited, [separate, { repair: 'merge-parts' }]);
    expect(listChosen(again)).toEqual([{ ...separate, groups: groups.slice(1) }]);
  });

  it('inserts an offered repair at its place in the order, and keeps it while it is offered', () => {
    const chain = mergeProposals([], [separate, { repair: 'place', mount: 'floor' }]);
    const added = tickRepair(chain, { repair: 'bake-transforms' }, true);
    expect(names(added)).toEqual(['separate-pieces', 'bake-transforms', 'place']);
    const offered: Repair[] = [{ repair: 'bake-transforms' }];
    expect(names(mergeProposals(added, [{ repair: 'place', mount: 'floor' }], offered))).toEqual([
      'bake-transforms',
      'place',
    ]);
    expect(names(mergeProposals(added, [{ repair: 'place', mount: 'floor' }]))).toEqual(['place']);
  });

  it('finds the step that resolves a finding, under a new name and in a longer list', () => {
    const chain = mergeProposals(
      [],
      [
        { repair: 'rename-materials', names: [{ from: '/materials/0', to: 'Baked' }] },
        { repair: 'set-nonmetal', materials: ['Baked', 'oak'] },
        { repair: 'fit-textures', sizePx: 1024 },
      ],
    );
    expect(findStep(chain, { repair: 'set-nonmetal', materials: ['/materials/0'] })).toBe(chain[1]);
    expect(findStep(chain, { repair: 'set-nonmetal', materials: ['brass'] })).toBeUndefined();
    expect(findStep(chain, { repair: 'fit-textures', sizePx: 2048 })).toBe(chain[2]);
    expect(findStep(chain, { repair: 'fit-textures', sizePx: 512 })).toBeUndefined();
  });

  it('allows one unit at a time, or none', () => {
    const chain = mergeProposals([], [{ repair: 'merge-parts' }]);
    const scales = [centimetres, inches];
    const cm = chooseRepair(chain, scales, centimetres);
    expect(listChosen(cm)).toEqual([centimetres, { repair: 'merge-parts' }]);
    expect(listChosen(chooseRepair(cm, scales, inches))).toEqual([inches, { repair: 'merge-parts' }]);
    expect(listChosen(chooseRepair(cm, scales, null))).toEqual([{ repair: 'merge-parts' }]);
  });

  it('stands under the findings: each step once, under the first that it resolves', () => {
    const merge: Repair = { repair: 'merge-parts' };
    const bake: Repair = { repair: 'bake-transforms' };
    const chain = addTurn(mergeProposals([], [merge]), 'y', 90);
    const pieces = { code: 'many-pieces', repairs: [merge] };
    const draws = { code: 'too-many-draws', repairs: [merge, bake] };
    const map = { code: 'missing-map', repairs: undefined };
    const { remedies, further } = assignSteps([pieces, draws, map], chain);
    expect(names(remedies.get(pieces)!.steps)).toEqual(['merge-parts']);
    expect(remedies.get(draws)).toEqual({ steps: [], offers: [bake], settled: true });
    expect(remedies.get(map)).toEqual({ steps: [], offers: [], settled: false });
    expect(names(further)).toEqual(['turn']);
  });

  it('uses the old names of materials when the step that renames them is unticked', () => {
    const chain = mergeProposals(
      [],
      [
        { repair: 'rename-materials', names: [{ from: '/materials/0', to: 'Baked' }] },
        separate,
        { repair: 'neutral-detail', materials: ['Baked', 'oak', 'cloth'] },
      ],
    );
    const without = (name: RepairName) =>
      listChosen(chain.map((step) => ({ ...step, on: step.repair.repair !== name })));
    expect(without('rename-materials')[0]).toMatchObject({ material: '/materials/0' });
    expect(without('separate-pieces').at(-1)).toEqual({ repair: 'neutral-detail', materials: ['Baked'] });
    const only = mergeProposals([], [separate, { repair: 'neutral-detail', materials: ['oak'] }]);
    expect(listChosen(tickRepair(only, separate, false))).toEqual([]);
  });
});

describe('the groups of a separation', () => {
  it('are renamed, and merged when one gets the name of another', () => {
    expect(renameGroup(groups, 1, 'wool').map(({ name }) => name)).toEqual(['oak', 'wool', 'black']);
    const joined = renameGroup(groups, 2, 'oak');
    expect(joined.map(({ name }) => name)).toEqual(['oak', 'cloth']);
    expect(joined[0]).toEqual({
      name: 'oak',
      hex: '#a97c50',
      pieces: ['00000000000a', '00000000000b', '00000000000d'],
      shapes: ['000000000001'],
    });
  });

  it('lose no piece when merged', () => {
    const all = (list: typeof groups) => list.flatMap(({ pieces }) => pieces).sort();
    for (const [from, into] of [
      [0, 1],
      [2, 0],
      [1, 1],
    ] as const) {
      expect(all(mergeGroups(groups, from, into) as typeof groups)).toEqual(all(groups));
    }
  });

  it('rename the later steps as well', () => {
    const chain = mergeProposals([], [separate, { repair: 'neutral-detail', materials: ['Baked', 'oak', 'black'] }]);
    const edit = (steps: readonly Step[], next: typeof groups) => {
      const now = steps[0]!.repair as RepairOf<'separate-pieces'>;
      return editStep(steps, steps[0]!.key, { ...now, groups: next }, findRenamed(now.groups, next));
    };
    const renamed = edit(chain, renameGroup(groups, 0, 'ash') as typeof groups);
    expect(renamed[1]!.repair).toMatchObject({ materials: ['Baked', 'ash', 'black'] });
    const joined = edit(chain, mergeGroups(groups, 2, 0) as typeof groups);
    expect(joined[1]!.repair).toMatchObject({ materials: ['Baked', 'oak'] });
  });
});

describe('the steps of a preparation', () => {
  it('move within the list', () => {
    expect(moveItem(['a', 'b', 'c'], 2, -1)).toEqual(['a', 'c', 'b']);
    expect(moveItem(['a', 'b', 'c'], 0, -1)).toEqual(['a', 'b', 'c']);
    expect(moveItem(['a', 'b', 'c'], 0, 5)).toEqual(['b', 'c', 'a']);
  });
});

describe('a revision', () => {
  it('states its origin', () => {
    const report = (repair: Repair, outcome: 'done' | 'unfit') =>
      ({ repair, outcome, message: '', figures: {}, touchesGeometry: true, losses: [] }) as const;
    expect(describeOrigin({ kind: 'received' })).toBe('Received');
    expect(
      describeOrigin({
        kind: 'repaired',
        from: 2,
        received: 1,
        reports: [report(centimetres, 'done'), report({ repair: 'merge-parts' }, 'done'), report(separate, 'unfit')],
        preparation: [],
      }),
    ).toBe('From revision 2: scaled and parts merged; 1 step not applicable');
  });
});
