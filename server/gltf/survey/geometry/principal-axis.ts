/** The longer direction of a body, and how much longer it is. */
export interface PrincipalAxis {
  /** Of unit length; its sign says nothing. */
  readonly axis: readonly [number, number, number];
  /**
   * Spread along it over the spread along the next longest, 1 or more. A flat panel of sides a and b has exactly a/b; a rod
   * of length a and diameter b has √(2/3) of it.
   */
  readonly elongation: number;
}

/** Symmetric, by rows: xx, xy, xz, yy, yz, zz. */
export type Symmetric = readonly [number, number, number, number, number, number];

/** Turns of Jacobi's method: a 3 × 3 matrix is diagonal to the last digit after five or six sweeps. */
const SWEEPS = 12;
/** Elongation of what has no breadth at all, such as a line of points. */
const LONGEST = 1e6;

/**
 * The principal axis of a distribution, from its covariance, by Jacobi's method for the eigenvalues of a symmetric matrix;
 * the tests hold it against bodies whose axes and spreads are known in closed form.
 */
export function findPrincipalAxis([xx, xy, xz, yy, yz, zz]: Symmetric): PrincipalAxis {
  const m = [
    [xx, xy, xz],
    [xy, yy, yz],
    [xz, yz, zz],
  ];
  const axes = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ];
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    rotate(m, axes, 0, 1);
    rotate(m, axes, 0, 2);
    rotate(m, axes, 1, 2);
  }
  const [first, second] = [0, 1, 2].sort((a, b) => m[b]![b]! - m[a]![a]!) as [number, number, number];
  const [long, next] = [Math.max(0, m[first]![first]!), Math.max(0, m[second]![second]!)];
  const elongation = next > 0 ? Math.min(LONGEST, Math.sqrt(long / next)) : long > 0 ? LONGEST : 1;
  return { axis: [axes[0]![first]!, axes[1]![first]!, axes[2]![first]!], elongation };
}

/** One turn in the plane of two axes that brings their mixed term to 0. */
function rotate(m: number[][], axes: number[][], p: number, q: number): void {
  const mixed = m[p]![q]!;
  if (mixed === 0) return;
  const theta = (m[q]![q]! - m[p]![p]!) / (2 * mixed);
  const t = Math.sign(theta || 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (let k = 0; k < 3; k++) {
    const [kp, kq] = [m[k]![p]!, m[k]![q]!];
    m[k]![p] = c * kp - s * kq;
    m[k]![q] = s * kp + c * kq;
  }
  for (let k = 0; k < 3; k++) {
    const [pk, qk] = [m[p]![k]!, m[q]![k]!];
    m[p]![k] = c * pk - s * qk;
    m[q]![k] = s * pk + c * qk;
    const [ap, aq] = [axes[k]![p]!, axes[k]![q]!];
    axes[k]![p] = c * ap - s * aq;
    axes[k]![q] = s * ap + c * aq;
  }
}
