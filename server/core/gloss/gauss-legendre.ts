/** Nodes on −1…1 and weights that sum to 2. */
export interface Quadrature {
  readonly nodes: readonly number[];
  readonly weights: readonly number[];
}

/** Gauss–Legendre quadrature with so many points: exact for polynomials up to degree 2·count − 1. */
export function gaussLegendre(count: number): Quadrature {
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let index = 0; index < count; index += 1) {
    let node = Math.cos((Math.PI * (index + 0.75)) / (count + 0.5));
    let slope = 0;
    // Newton's method; from this start it is at the last digit after four or five steps
    for (let step = 0; step < 10; step += 1) {
      let value = 1;
      let previous = 0;
      for (let order = 1; order <= count; order += 1) {
        const next = ((2 * order - 1) * node * value - (order - 1) * previous) / order;
        previous = value;
        value = next;
      }
      slope = (count * (node * value - previous)) / (node * node - 1);
      node -= value / slope;
    }
    nodes.push(node);
    weights.push(2 / ((1 - node * node) * slope * slope));
  }
  return { nodes, weights };
}
