/** Eight significant digits: more than an 8-bit or half-float pipeline can tell, and short, stable JSON. */
export function tidy(value: number): number {
  return Number(value.toPrecision(8));
}
