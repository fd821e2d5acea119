import type { GrainMark } from './survey.ts';

/** A direction in a view. */
export interface ShownGrain {
  /** Degrees counter-clockwise from the right, 0 up to 180. */
  readonly degrees: number;
  /** 1 where the direction is the same all over what is seen, 0 where every one is as good. */
  readonly agreement: number;
}

/**
 * How the grain runs on the marked piece when a slot lays it at so many degrees: the main axis of the products of its
 * directions. Null where it cannot be told, since steps in U and V are nothing there.
 */
export function showGrain(
  { uu, uv, vv }: Pick<GrainMark, 'uu' | 'uv' | 'vv'>,
  grainDegrees: number,
): ShownGrain | null {
  const turn = (grainDegrees * Math.PI) / 180;
  const [s, c] = [Math.sin(turn), Math.cos(turn)];
  const [xx, xy, yy] = [0, 1, 2].map((k) => uu[k]! * s * s + uv[k]! * s * c + vv[k]! * c * c) as [
    number,
    number,
    number,
  ];
  const [difference, mixed] = [xx - yy, 2 * xy];
  if (!(xx + yy > 0)) return null;
  const degrees = (Math.atan2(mixed, difference) * 90) / Math.PI;
  return { degrees: (degrees + 180) % 180, agreement: Math.min(1, Math.hypot(difference, mixed) / (xx + yy)) };
}
