import type { GlossAngle } from './gloss-integral.ts';

/**
 * Angle to measure at, from the reading at 60°: 20° above 70 gloss units, 85° below 10, 60° between (ASTM D523; ISO 2813
 * has the same bounds). Words such as satin or matt differ by supplier and choose nothing.
 */
export function chooseAngle(gu60: number): GlossAngle {
  if (gu60 > 70) return 20;
  return gu60 < 10 ? 85 : 60;
}

/**
 * What a coater may be off a nominal gloss at 60°, in gloss units either way: 5 up to 30, 7 up to 70, 10 above
 * (Qualicoat, as quoted in the trade).
 */
export function glossTolerance(gu60: number): number {
  if (gu60 <= 30) return 5;
  return gu60 <= 70 ? 7 : 10;
}
