import { describe, expect, it } from 'vitest';
import type { ModelUnderCheck } from '../../../../server/core/product/check-model.ts';
import type { InwardPiece } from '../../../../server/core/product/survey.ts';
import { listProposals } from '../../../../server/core/repair/list-proposals.ts';
import type { Repair } from '../../../../server/core/repair/repair.ts';
import {
  check,
  findAll,
  makeGoodSurvey,
  makeInwardPiece,
  makePieces,
  withMaterial,
} from '../../../support/make-model-check.ts';

// glTF 2.0 §3.9.6 says how viewers treat back faces. These tests check only that one cause is one finding, and that
// uncertain pieces get no proposal.

const good = makeGoodSurvey();
const find = (inward: readonly InwardPiece[]) =>
  check({ ...good, inward }).filter(({ code }) => code === 'faces-inward');

describe('pieces that face inward', () => {
  it('are one finding, with their places and one proposed repair', () => {
    const findings = find([
      makeInwardPiece('a'),
      makeInwardPiece('b', { material: 1, nodes: ['Leg'], by: 'normals', turn: 'normals' }),
    ]);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({
      severity: 'warning',
      where: '/materials/0',
      place: '“Seat” and “Legs” on “Seat” and “Leg”',
      seen: { pieces: 2, first: ['a'.repeat(12), 'b'.repeat(12)] },
    });
    expect(findings[0]!.message).toContain('1 with a negative volume, 1 with normals');
    expect(listProposals(findings)).toEqual([{ repair: 'turn-outward' }]);
  });

  it('are a note that offers them by name and proposes nothing, if they may be intentional', () => {
    const [finding] = find([makeInwardPiece('c', { certain: false, by: 'view', material: null, nodes: [] })]);
    expect(finding).toMatchObject({ severity: 'note', where: '/meshes' });
    expect(finding!.repairs).toEqual([{ repair: 'turn-outward', pieces: ['c'.repeat(12)], shapes: ['123456789abc'] }]);
    expect(listProposals([finding!])).toEqual([]);
  });

  it('are not reported if there are none', () => {
    expect(find([])).toEqual([]);
  });
});

/** The good chair with nearly all of its surface under one material, in five pieces. */
const baked = withMaterial(good, { areaM2: 19, pieces: 5 });

describe('pieces of one material', () => {
  const separate = (given: Partial<ModelUnderCheck>, survey = baked) =>
    findAll(check(survey, given), 'one-material-many-pieces');
  type Separation = Extract<Repair, { repair: 'separate-pieces' }>;

  it('are proposed in groups that hold every piece once, under new names, by one way of several', () => {
    const pieces = makePieces(0);
    const findings = separate({ pieces });
    const [first, second] = findings[0]!.repairs! as readonly Separation[];
    expect(first!.material).toBe('Seat');
    expect(first!.groups.flatMap((one) => one.pieces).sort()).toEqual(pieces.map(({ piece }) => piece).sort());
    // “Seat” is the name of the material, so those pieces stay with it.
    expect(first!.groups.map(({ name }) => name)).toEqual(['Seat', 'Leg']);
    expect(second!.groups.map(({ name }) => name)).toEqual(['Light brown', 'Black']);
    expect(listProposals(findings)).toEqual([first]);
  });

  it('are offered, and not proposed, if no name defines the groups', () => {
    const nameless = makePieces(0).map((piece) => ({ ...piece, part: null }));
    const findings = separate({ pieces: nameless });
    expect(findings[0]!.repairs).toHaveLength(1);
    expect(listProposals(findings)).toEqual([]);
  });

  it('are not reported if they are few, of several materials, or unknown', () => {
    expect(separate({ pieces: makePieces(0, 2) })).toEqual([]);
    expect(separate({ pieces: [...makePieces(0), ...makePieces(1)] }, withMaterial(good, { pieces: 5 }))).toEqual([]);
    expect(separate({})).toEqual([]);
  });

  it('are still proposed after some were separated by hand, as long as several are left', () => {
    const step: Repair = {
      repair: 'separate-pieces',
      material: 'Seat',
      groups: [{ name: 'A', pieces: ['0123456789ab'] }],
    };
    const origin = { kind: 'repaired', from: 1, received: 1, preparation: [step], reports: [] } as const;
    const rest = withMaterial(good, { pieces: 5 });
    expect(separate({ pieces: makePieces(0), origin }, rest)).toHaveLength(1);
    expect(separate({ pieces: makePieces(0) }, rest)).toEqual([]);
    expect(separate({ pieces: makePieces(0), origin }, withMaterial(rest, { name: 'A' }))).toEqual([]);
    const stays = { ...step, groups: [...step.groups, { name: 'seat', pieces: ['0123456789ac'] }] };
    expect(separate({ pieces: makePieces(0), origin: { ...origin, preparation: [stays] } }, rest)).toEqual([]);
  });
});
