import { describe, expect, it } from 'vitest';
import type { InwardPiece } from '../../../../server/core/product/survey.ts';
import { listProposals } from '../../../../server/core/repair/list-proposals.ts';
import { check, makeGoodSurvey } from '../../../support/make-model-check.ts';

// glTF 2.0 §3.9.6 says how viewers treat back faces. These tests check only that one cause is one finding, and that
// uncertain pieces get no proposal.

const good = makeGoodSurvey();
const piece = (id: string, given: Partial<InwardPiece> = {}): InwardPiece => ({
  piece: id.repeat(12),
  shape: '123456789abc',
  material: 0,
  nodes: ['Seat'],
  areaM2: 1,
  turn: 'both',
  by: 'volume',
  certain: true,
  ...given,
});
const find = (inward: readonly InwardPiece[]) =>
  check({ ...good, inward }).filter(({ code }) => code === 'faces-inward');

describe('pieces that face inward', () => {
  it('are one finding, with their places and one proposed repair', () => {
    const findings = find([piece('a'), piece('b', { material: 1, nodes: ['Leg'], by: 'normals', turn: 'normals' })]);
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
    const [finding] = find([piece('c', { certain: false, by: 'view', material: null, nodes: [] })]);
    expect(finding).toMatchObject({ severity: 'note', where: '/meshes' });
    expect(finding!.repairs).toEqual([{ repair: 'turn-outward', pieces: ['c'.repeat(12)], shapes: ['123456789abc'] }]);
    expect(listProposals([finding!])).toEqual([]);
  });

  it('are not reported if there are none', () => {
    expect(find([])).toEqual([]);
  });
});
