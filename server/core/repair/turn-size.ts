import type { Survey } from '../product/survey.ts';
import type { RepairOf } from './repair.ts';

type Size = NonNullable<Survey['size']>;

/** The size of a model once it is turned; null where the angle is no quarter turn, since then only its vertices tell. */
export function turnSize(size: Size, { axis, degrees }: Pick<RepairOf<'turn'>, 'axis' | 'degrees'>): Size | null {
  if (degrees % 90 !== 0) return null;
  if (degrees % 180 === 0) return size;
  const { widthMm, depthMm, heightMm } = size;
  if (axis === 'x') return { widthMm, depthMm: heightMm, heightMm: depthMm };
  if (axis === 'y') return { widthMm: depthMm, depthMm: widthMm, heightMm };
  return { widthMm: heightMm, depthMm, heightMm: widthMm };
}

export const scaleSize = ({ widthMm, depthMm, heightMm }: Size, factor: number): Size => ({
  widthMm: widthMm * factor,
  depthMm: depthMm * factor,
  heightMm: heightMm * factor,
});
