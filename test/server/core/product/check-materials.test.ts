import { describe, expect, it } from 'vitest';
import type { Finding } from '../../../../server/core/product/finding.ts';
import type { Survey } from '../../../../server/core/product/survey.ts';
import { check } from '../../../support/make-model-check.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

/** A model with materials of these names, each with its nodes. */
function make(materials: readonly (readonly [name: string, ...nodes: string[]])[]): Survey {
  const survey = makeSurvey(
    materials.map(([name]) => name),
    [materials.map((_, material) => ({ material }))],
  );
  return {
    ...survey,
    materials: survey.materials.map((material, index) => ({ ...material, nodes: materials[index]!.slice(1) })),
  };
}

const renamings = (findings: readonly Finding[]) =>
  findings.flatMap(({ repairs = [] }) =>
    repairs.flatMap((repair) => (repair.repair === 'rename-materials' ? repair.names : [])),
  );

describe('proposed names for materials', () => {
  it('come from the nodes that use them', () => {
    const names = renamings(
      check(
        make([
          ['', 'Leg.001', 'Leg.002'],
          ['', 'Seat_shell'],
          ['Cord', 'Cable'],
        ]),
      ),
    );
    expect(names).toEqual([
      { from: '/materials/0', to: 'Leg' },
      { from: '/materials/1', to: 'Seat shell' },
    ]);
  });

  it('differ from all others, ignoring case', () => {
    const names = renamings(check(make([['', 'Leg'], ['LEG', 'x'], ['', 'leg'], ['', 'node 4'], ['']])));
    const all = ['LEG', ...names.map(({ to }) => to)].map((name) => name.toLowerCase());
    expect(names).toHaveLength(4);
    expect(new Set(all).size).toBe(5);
  });

  it('leave the first material of a shared name unchanged', () => {
    const names = renamings(check(make([['Wood', 'Seat'], ['Wood', 'Legs'], ['Wood', 'Legs'], ['Wood 2']])));
    expect(names.map(({ from }) => from)).toEqual(['/materials/1', '/materials/2']);
    expect(names[0]!.to).toBe('Wood Legs');
    expect(names[1]!.to).not.toBe('Wood Legs');
  });

  // Limits from the contract: names have 1–120 characters, Unicode NFC.
  it.each([['x'.repeat(200)], ['a\u0000b'], ['Fu\u0308ße'], ['///']])(
    'are valid names, from a node called %j',
    (node) => {
      for (const { to } of renamings(
        check(
          make([
            ['', node],
            ['', node],
          ]),
        ),
      )) {
        expect(to.length).toBeGreaterThan(0);
        expect([...to].length).toBeLessThanOrEqual(120);
        expect(to).not.toMatch(/\p{Cc}/u);
        expect(to).toBe(to.normalize('NFC').trim());
      }
    },
  );
});

describe('a repair’s reference to a material', () => {
  const refer = (name: string, other = 'Other') =>
    check(
      make([[name, 'Oak seat'], [other]]).materials.length ? withMetal(make([[name, 'Oak seat'], [other]])) : make([]),
    )
      .flatMap(({ repairs = [] }) => repairs)
      .flatMap((repair) => (repair.repair === 'set-nonmetal' ? repair.materials : []));
  const withMetal = (survey: Survey): Survey => ({
    ...survey,
    materials: survey.materials.map((material, index) =>
      index === 0 ? { ...material, factors: { baseColor: [1, 1, 1, 1], metallic: 1, roughness: 1 } } : material,
    ),
  });

  it('is its name if that is unique', () => {
    expect(refer('Oak')).toEqual(['Oak']);
  });

  it.each([
    ['', 'Other'],
    ['Oak', 'Oak'],
    ['   ', 'Other'],
    ['/materials/1', 'Other'],
    ['x'.repeat(121), 'Other'],
    ['Oak\n', 'Other'],
  ])('is its pointer if the name %j is not unique or valid (beside %j)', (name, other) => {
    expect(refer(name, other)).toEqual(['/materials/0']);
  });
});
