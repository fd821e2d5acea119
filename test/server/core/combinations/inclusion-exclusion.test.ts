import { expect, it } from 'vitest';
import { countByInclusionExclusion } from '../../../../server/core/combinations/inclusion-exclusion.ts';
import { weighTable } from '../../../../server/core/combinations/merge-interchangeable.ts';
import { computeExactly } from '../../../../server/core/combinations/modular-arithmetic.ts';
import { countByElimination, planElimination } from '../../../../server/core/combinations/variable-elimination.ts';
import { listAllRows, makeRandomTable } from '../../../support/random-pair-table.ts';

it('both ways of counting agree with trying all, also in residues with weights beyond 2^53', () => {
  for (let seed = 1; seed <= 60; seed++) {
    const table = makeRandomTable({ sizes: [4, 3, 5, 2, 4], excludes: 4 + (seed % 20), seed });
    const rows = listAllRows(table);
    for (const weight of [1, 2 ** 15, 2 ** 30 + 1]) {
      const plain = weighTable(table);
      const weighted = {
        ...plain,
        weights: plain.weights.map((column) => column.map((_, i) => (i === 0 ? weight : i))),
      };
      const expected = rows.reduce(
        (sum, row) => sum + row.reduce((product, i, c) => product * BigInt(weighted.weights[c]![i]!), 1n),
        0n,
      );
      const most = BigInt(weight + 10) ** 5n;
      const plan = planElimination(weighted);
      expect(computeExactly((arithmetic) => countByInclusionExclusion(weighted, arithmetic, () => {}), most)).toBe(
        expected,
      );
      expect(computeExactly((arithmetic) => countByElimination(weighted, plan, arithmetic), most)).toBe(expected);
    }
  }
});
