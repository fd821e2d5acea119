import type { Mount } from './picture.ts';

/** Floor shown around the footprint so that the contact shadow has room, as a share of the product's longest side. */
const SHADOW_ROOM = 0.05;

/** Points of the ring of floor that is framed with a standing product. */
const RING_POINTS = 16;

/** What stands on the floor, as the ring goes round it; metres, y up. */
export interface Footing {
  readonly middleX: number;
  readonly middleZ: number;
  readonly floorY: number;
  /** Half sizes of the footprint. */
  readonly halfX: number;
  readonly halfZ: number;
  readonly longestSide: number;
}

/** A little floor round a product that stands; none for one that hangs. Points x y z in metres. */
export function listFloorRing(mount: Mount, footing: Footing): readonly number[] {
  if (mount !== 'floor' && mount !== 'table') return [];
  const { middleX, middleZ, floorY, halfX, halfZ, longestSide } = footing;
  const room = longestSide * SHADOW_ROOM;
  return Array.from({ length: RING_POINTS }, (_, step) => {
    const angle = (step / RING_POINTS) * 2 * Math.PI;
    return [middleX + Math.cos(angle) * (halfX + room), floorY, middleZ + Math.sin(angle) * (halfZ + room)];
  }).flat();
}

/** Points on the turntable as the rig sees them, for a camera that goes by `yawDegrees` from the front towards +x. */
export function turnPoints(yawDegrees: number, ...lists: readonly ArrayLike<number>[]): Float32Array {
  const yaw = (-yawDegrees * Math.PI) / 180;
  const [sin, cos] = [Math.sin(yaw), Math.cos(yaw)];
  const turned = new Float32Array(lists.reduce((sum, { length }) => sum + length, 0));
  let to = 0;
  for (const points of lists) {
    for (let at = 0; at < points.length; at += 3, to += 3) {
      const [x, z] = [points[at]!, points[at + 2]!];
      turned[to] = x * cos + z * sin;
      turned[to + 1] = points[at + 1]!;
      turned[to + 2] = z * cos - x * sin;
    }
  }
  return turned;
}
