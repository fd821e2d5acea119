import { countCombinations } from '../../server/core/combinations/count-combinations.ts';
import { planCheckSet } from '../../server/core/combinations/plan-check-set.ts';
import { makeRandomTable } from '../support/random-pair-table.ts';
import { alternate, row, show } from './measure.ts';

const RUNS = 5;
const SEED = 4;

/** Counting variants, and planning check sets, on tables of invented finishes with seeded excludes. */
export async function benchChoices(): Promise<void> {
  const wide = makeRandomTable({ sizes: new Array<number>(12).fill(40), excludes: 200, seed: SEED });
  console.log('\nChoices: 12 positions × 40 finishes with 200 excludes');
  const counted = await alternate(RUNS, { count: async () => countCombinations(wide) });
  const count = countCombinations(wide);
  row('counting variants', show(counted.count), 'aim < 100 ms');
  row('  variants', count.exact ? String(count.count) : `${count.lower} to ${count.upper}`);

  const sizes = new Array<number>(8).fill(20);
  await benchCheckSet('8 × 20 without rules', 0, 'aim < 2 s', 'aim ≤ 1.35');
  await benchCheckSet('8 × 20 with 200 excludes', 200, '', 'aim ≤ 1.6');

  async function benchCheckSet(title: string, excludes: number, aim: string, aimRatio: string): Promise<void> {
    const table = makeRandomTable({ sizes, excludes, seed: SEED });
    const { plan } = await alternate(RUNS, { plan: async () => planCheckSet(table, 'pairs') });
    const { rows, covered, bound } = planCheckSet(table, 'pairs');
    row(`check set of pairs, ${title}`, show(plan), aim);
    row(
      '  rows ÷ product of the two largest',
      `${rows.length} ÷ ${bound} = ${(rows.length / bound).toFixed(3)}`,
      aimRatio,
    );
    row('  pairs covered', String(covered));
  }
}
