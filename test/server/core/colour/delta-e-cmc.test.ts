import { differenceCmc } from 'culori';
import { describe, expect, it } from 'vitest';
import { deltaECmc, type Lab } from '../../../../server/core/colour/lab.ts';
import { createRandom } from '../../../support/random.ts';

describe('deltaECmc', () => {
  it('agrees with culori on 10,000 random pairs, 2:1 and 1:1', () => {
    // tolerances: both work in double precision from the same formula (ISO 105-J03)
    const random = createRandom(1984);
    const colour = (): Lab => [random.next() * 100, random.next() * 160 - 80, random.next() * 160 - 80];
    const theirs = { 1: differenceCmc(1, 1), 2: differenceCmc(2, 1) };
    let worst = 0;
    for (let i = 0; i < 10_000; i++) {
      const a = colour();
      const b = colour();
      for (const l of [1, 2] as const) {
        const wanted = theirs[l](
          { mode: 'lab65', l: a[0], a: a[1], b: a[2] },
          { mode: 'lab65', l: b[0], a: b[1], b: b[2] },
        );
        worst = Math.max(worst, Math.abs(deltaECmc(a, b, l) - wanted));
      }
    }
    expect(worst).toBeLessThan(1e-6);
  });

  it('weighs a step of lightness by S_L, halved at 2:1: by the formula, for a grey of L* 50', () => {
    const step = (0.040975 * 50) / (1 + 0.01765 * 50);
    expect(deltaECmc([50, 0, 0], [51, 0, 0], 1)).toBeCloseTo(1 / step, 9);
    expect(deltaECmc([50, 0, 0], [51, 0, 0])).toBeCloseTo(0.5 / step, 9);
    // below L* 16 the divisor is level, 0.511
    expect(deltaECmc([10, 0, 0], [11, 0, 0], 1)).toBeCloseTo(1 / 0.511, 9);
  });

  it('looks from the reference, not from the sample', () => {
    const a: Lab = [50, 0, 0];
    const b: Lab = [50, 30, 0];
    expect(deltaECmc(a, b)).toBeGreaterThan(deltaECmc(b, a));
    expect(deltaECmc(a, a)).toBe(0);
  });
});
