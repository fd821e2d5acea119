import { describe, expect, it } from 'vitest';
import { planGroups } from '../../../../server/core/delivery/plan-groups.ts';
import { makeScope } from '../../../support/rules.ts';

// What a delivery tells viewers about mixing finishes. The excluded pairs follow from the rules by hand.

const variant = (code: string, seat: string, piping: string, legs = 'OAK') => ({
  code,
  name: code,
  choices: { seat, piping, legs },
});

describe('the groups of a delivery', () => {
  it('are the slots with several finishes, and the pairs that rules forbid among those finishes', () => {
    const scope = makeScope([
      { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } },
      { when: { position: 'seat', finish: 'LOOP' }, excludes: { position: 'piping', finish: 'LOOP' } },
    ]);
    const variants = [variant('A', 'HIDE', 'HIDE'), variant('B', 'LOOP', 'FELT'), variant('C', 'felt', 'LOOP')];
    const { groups, excluded } = planGroups(scope.slots as never, { variants }, scope);
    expect(groups.map(({ slot, position }) => [slot, position])).toEqual([
      ['seat', 'seat'],
      ['piping', 'piping'],
    ]);
    expect(excluded).toEqual([
      {
        slots: ['seat', 'piping'],
        pairs: [
          ['HIDE', 'FELT'],
          ['HIDE', 'LOOP'],
          ['LOOP', 'LOOP'],
        ],
      },
    ]);
  });

  it('leave out the rules where the pairs are too many to list', () => {
    const scope = makeScope([]);
    const variants = Array.from({ length: 500 }, (_, i) => variant(`V${i}`, `F${i}`, `G${i}`));
    const { groups, excluded } = planGroups(scope.slots as never, { variants }, scope);
    expect(groups).toHaveLength(2);
    expect(excluded).toBeNull();
  });
});
