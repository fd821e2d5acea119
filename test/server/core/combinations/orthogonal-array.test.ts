import { expect, it } from 'vitest';
import { findPrimePower, makeField } from '../../../../server/core/combinations/orthogonal-array.ts';

// Galois: a field of q elements exists exactly for prime powers q; the tests check its axioms.
it.each([2, 3, 4, 5, 7, 8, 9, 16, 23, 25, 27])(
  'a field of %i elements has inverses, and products spread over sums',
  (q) => {
    const { add, multiply } = makeField(q)!;
    const all = Array.from({ length: q }, (_, a) => a);
    for (const a of all) {
      expect(add(a, 0)).toBe(a);
      expect(multiply(a, 1)).toBe(a);
      expect(new Set(all.map((b) => add(a, b))).size).toBe(q);
      if (a !== 0) expect(new Set(all.map((b) => multiply(a, b))).size).toBe(q);
      for (const b of all) {
        const c = (a * 5 + b * 3 + 1) % q;
        expect(multiply(a, b)).toBe(multiply(b, a));
        expect(multiply(a, add(b, c))).toBe(add(multiply(a, b), multiply(a, c)));
        expect(multiply(multiply(a, b), c)).toBe(multiply(a, multiply(b, c)));
      }
    }
  },
);

it('no field has 6, 10 or 12 elements; the next prime powers are used', () => {
  for (const q of [1, 6, 10, 12]) expect(makeField(q)).toBeUndefined();
  expect([6, 10, 12, 20, 24, 26].map(findPrimePower)).toEqual([7, 11, 13, 23, 25, 27]);
});
