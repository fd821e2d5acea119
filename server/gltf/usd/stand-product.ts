import type { Mount } from '../../core/picture/picture.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import type { Matrix } from '../document/world-matrices.ts';
import type { Draw } from './list-draws.ts';
import { placeShape } from './place-shape.ts';

export interface Stand {
  /** Subtracted from every point, metres. */
  readonly origin: readonly number[];
  /** After that. */
  readonly box: { readonly min: readonly number[]; readonly max: readonly number[] };
}

/** The axis on which a product touches its surface, and the end of its box there. The other two are across. */
const CONTACT: Readonly<Record<Mount, { readonly axis: 1 | 2; readonly end: 'min' | 'max' }>> = {
  floor: { axis: 1, end: 'min' },
  table: { axis: 1, end: 'min' },
  ceiling: { axis: 1, end: 'max' },
  wall: { axis: 2, end: 'min' },
};

/**
 * Puts a product onto its surface: the lowest point of what stands at y = 0, the highest of what hangs from a ceiling, the back of
 * what hangs on a wall at z = 0. Across, it stays where it is in the file, unless the origin is outside of it.
 * @returns null for a model that draws nothing
 */
export function standProduct(
  model: LoadedModel,
  draws: readonly Draw[],
  worlds: ReadonlyMap<number, Matrix>,
  mount: Mount,
): Stand | null {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (const draw of draws) {
    const points = placeShape(model, draw, worlds, [0, 0, 0], false)?.points ?? [];
    for (let at = 0; at < points.length; at++) {
      const value = points[at]!;
      const axis = at % 3;
      if (value < min[axis]!) min[axis] = value;
      if (value > max[axis]!) max[axis] = value;
    }
  }
  if (!min.every(Number.isFinite)) return null;
  const { axis, end } = CONTACT[mount];
  const origin = [0, 1, 2].map((across) => {
    if (across === axis) return (end === 'min' ? min : max)[across]!;
    return min[across]! <= 0 && max[across]! >= 0 ? 0 : (min[across]! + max[across]!) / 2;
  });
  const move = (corner: readonly number[]) => corner.map((value, at) => value - origin[at]!);
  return { origin, box: { min: move(min), max: move(max) } };
}
