import type { Mount, View } from './picture.ts';

/**
 * The studio's lens: 85 mm for a frame with a short side of 24 mm, as is common practice in product photography. A
 * picture of any shape has the 24 mm on its short side.
 */
export const LENS = { focalMm: 85, shortSideMm: 24 } as const;

/** Half the short side of the picture over the focal length. */
const LENS_TANGENT = LENS.shortSideMm / 2 / LENS.focalMm;

/** The lens keeps at least this distance from the subject, as a share of the depth of everything visible. */
const CLEARANCE = 0.05;

/** Rounds of centring. Each round leaves about a tenth of the error. */
const ROUNDS = 4;

export interface CameraCase {
  /** Points to frame: x y z in metres in the rig's axes, y up. The camera stands on the +z side. */
  readonly points: Float32Array;
  /** Everything else that may be visible, which the camera must not touch. Equal to `points` when absent. */
  readonly all?: Float32Array;
  readonly elevationDegrees: number;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Share of the frame to fill in the tighter direction, 0–1. */
  readonly fill: number;
  /** Border on each edge that is not part of the frame, px; default 0. */
  readonly marginPx?: number;
  /** Replaces `fill`: pixels per metre half way between the nearest and the farthest framed point. */
  readonly pxPerM?: number | null;
}

/** Position and lens of a camera. Axes: its own right, up and back; metres. */
export interface CameraPlace {
  readonly right: number;
  readonly up: number;
  readonly back: number;
  /**
   * Half the short side over the focal length. Smaller than `LENS_TANGENT` if a longer lens was needed to keep clear.
   */
  readonly tangent: number;
  readonly near: number;
  readonly far: number;
  /** Pixels per metre, perpendicular to the view, half way between the nearest and the farthest framed point. */
  readonly pxPerM: number;
  /** Distance from the lens to that plane, m. */
  readonly distanceM: number;
}

/**
 * Places the camera so that the points are centred and fill the frame, or have a given scale.
 *
 * With camera axes right, up, back and tangents t of the half angles, a point is inside when ±x + t·z ≤ t·d ± c, where
 * d is the distance and c the sideways shift. The extremes of ±x + t·z give the smallest d directly. A few rounds then
 * centre the shift, since perspective makes the two edges depend on it. In a close-up of a part, the camera could come
 * too near to other visible parts or stand inside them. It then keeps clear, and a longer lens enlarges the part.
 */
export function placeCamera(given: CameraCase): CameraPlace {
  const { points, all = points, elevationDegrees, widthPx, heightPx, fill, marginPx = 0 } = given;
  const project = makeProject(elevationDegrees);
  const short = Math.min(widthPx, heightPx);
  const half = { x: widthPx / short, y: heightPx / short };
  const filled = {
    x: half.x * fill * Math.max(1 - (2 * marginPx) / widthPx, 0.1),
    y: half.y * fill * Math.max(1 - (2 * marginPx) / heightPx, 0.1),
  };
  const reach = measureReach(points, project, { x: filled.x * LENS_TANGENT, y: filled.y * LENS_TANGENT });
  const whole = all === points ? reach : measureReach(all, project, { x: 0, y: 0 });
  const depth = Math.max(whole.near - whole.far, 1e-6);
  const middle = (reach.near + reach.far) / 2;
  const clear = Math.max(whole.near, reach.near) + depth * CLEARANCE;

  const { pxPerM } = given;
  const wanted = pxPerM ? middle + short / (2 * LENS_TANGENT * pxPerM) : reach.distance;
  const back = Math.max(wanted, clear);
  const { right, up, tangents } = centre(points, project, reach, back);
  const tangent =
    wanted >= clear
      ? LENS_TANGENT
      : pxPerM
        ? short / (2 * pxPerM * (back - middle))
        : Math.max(tangents.x / filled.x, tangents.y / filled.y);
  const distanceM = back - middle;
  return {
    right,
    up,
    back,
    tangent,
    // Leaves room for the floor around the product on both sides.
    near: Math.max(back - whole.near - depth * 1.5, back * 0.02, (back - whole.near) * 0.02),
    far: back - whole.far + depth * 6,
    pxPerM: short / (2 * tangent * distanceM),
    distanceM,
  };
}

type Project = (points: Float32Array, at: number) => readonly [right: number, up: number, back: number];

/** Projects points to the axes of a camera that looks from +z, raised by the elevation. */
function makeProject(elevationDegrees: number): Project {
  const [sin, cos] = [Math.sin((elevationDegrees * Math.PI) / 180), Math.cos((elevationDegrees * Math.PI) / 180)];
  return (points, at) => {
    const [x, y, z] = [points[at]!, points[at + 1]!, points[at + 2]!];
    return [x, y * cos - z * sin, y * sin + z * cos];
  };
}

interface Reach {
  readonly near: number;
  readonly far: number;
  /** The smallest distance that keeps everything within the tangents. */
  readonly distance: number;
  readonly shiftX: number;
  readonly shiftY: number;
}

function measureReach(
  points: Float32Array,
  project: Project,
  tangent: { readonly x: number; readonly y: number },
): Reach {
  const reach = { left: -Infinity, right: -Infinity, down: -Infinity, up: -Infinity, near: -Infinity, far: Infinity };
  for (let at = 0; at < points.length; at += 3) {
    const [x, y, z] = project(points, at);
    reach.right = Math.max(reach.right, x + tangent.x * z);
    reach.left = Math.max(reach.left, -x + tangent.x * z);
    reach.up = Math.max(reach.up, y + tangent.y * z);
    reach.down = Math.max(reach.down, -y + tangent.y * z);
    reach.near = Math.max(reach.near, z);
    reach.far = Math.min(reach.far, z);
  }
  return {
    near: reach.near,
    far: reach.far,
    distance: Math.max((reach.right + reach.left) / (2 * tangent.x), (reach.up + reach.down) / (2 * tangent.y)),
    shiftX: (reach.right - reach.left) / 2,
    shiftY: (reach.up - reach.down) / 2,
  };
}

/** Finds the shift that centres the points, and the tangents they reach on either side of it. */
function centre(points: Float32Array, project: Project, { near, far, shiftX, shiftY }: Reach, distance: number) {
  let [right, up] = [shiftX, shiftY];
  const tangents = { x: 0, y: 0 };
  for (let round = 0; round <= ROUNDS; round++) {
    const edge = { left: Infinity, right: -Infinity, down: Infinity, up: -Infinity };
    for (let at = 0; at < points.length; at += 3) {
      const [x, y, z] = project(points, at);
      const away = distance - z;
      edge.left = Math.min(edge.left, (x - right) / away);
      edge.right = Math.max(edge.right, (x - right) / away);
      edge.down = Math.min(edge.down, (y - up) / away);
      edge.up = Math.max(edge.up, (y - up) / away);
    }
    Object.assign(tangents, { x: Math.max(edge.right, -edge.left), y: Math.max(edge.up, -edge.down) });
    if (round === ROUNDS) break;
    const away = distance - (near + far) / 2;
    right += ((edge.left + edge.right) / 2) * away;
    up += ((edge.down + edge.up) / 2) * away;
  }
  return { right, up, tangents };
}

/**
 * Direction of the camera: degrees around the product from its front towards its +x side, and degrees above the
 * horizon.
 */
export interface Stand {
  readonly yawDegrees: number;
  readonly elevationDegrees: number;
}

/** Common practice of catalogues: the hero view 30–35° to the side and 10–15° above, plan views nearly level. */
export const STANDS: Readonly<Record<View, Stand>> = {
  front: { yawDegrees: 0, elevationDegrees: 5 },
  'three-quarter': { yawDegrees: 32, elevationDegrees: 12 },
  'three-quarter-left': { yawDegrees: -32, elevationDegrees: 12 },
  side: { yawDegrees: 90, elevationDegrees: 5 },
  back: { yawDegrees: 180, elevationDegrees: 5 },
  top: { yawDegrees: 0, elevationDegrees: 90 },
};

/** Floor shown around the footprint to leave room for the contact shadow, as a share of the product's longest side. */
const SHADOW_ROOM = 0.05;

/** Points in the ring of floor around a standing product. */
const RING_POINTS = 16;

/** Footprint of the product on the floor; metres, y up. */
interface Footing {
  readonly middleX: number;
  readonly middleZ: number;
  readonly floorY: number;
  /** Half sizes of the footprint. */
  readonly halfX: number;
  readonly halfZ: number;
  readonly longestSide: number;
}

/** A ring of floor around a standing product; empty for a hanging one. Points x y z in metres. */
export function listFloorRing(mount: Mount, footing: Footing): readonly number[] {
  if (mount !== 'floor' && mount !== 'table') return [];
  const { middleX, middleZ, floorY, halfX, halfZ, longestSide } = footing;
  const room = longestSide * SHADOW_ROOM;
  return Array.from({ length: RING_POINTS }, (_, step) => {
    const angle = (step / RING_POINTS) * 2 * Math.PI;
    return [middleX + Math.cos(angle) * (halfX + room), floorY, middleZ + Math.sin(angle) * (halfZ + room)];
  }).flat();
}

/** Points on the turntable in the rig's axes, for a camera that moves by `yawDegrees` from the front towards +x. */
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

/** Share of the frame that the product fills in the tighter direction; common practice of catalogues. */
export const PRODUCT_FILL = 0.85;

/** Overall size of a product, mm. */
interface ProductSize {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

interface EstimateCase {
  readonly size: ProductSize;
  readonly mount: Mount;
  readonly view: View;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Share of the frame, 0–1; default `PRODUCT_FILL`. */
  readonly fill?: number;
  readonly marginPx?: number;
  readonly pxPerM?: number | null;
}

/**
 * Places the camera for a product that fills its box to the corners. A product that does not reach its corners is
 * framed more closely if the view is not perpendicular to the box. The camera is then nearer and pixels are smaller, by
 * a fifth at most.
 */
export function estimateCamera({ size, mount, view, fill = PRODUCT_FILL, ...frame }: EstimateCase): CameraPlace {
  const { yawDegrees, elevationDegrees } = STANDS[view];
  const half = { x: size.widthMm / 2000, z: size.depthMm / 2000 };
  const height = size.heightMm / 1000;
  const corners = [-half.x, half.x].flatMap((x) =>
    [0, height].flatMap((y) => [-half.z, half.z].flatMap((z) => [x, y, z])),
  );
  const ring = listFloorRing(mount, {
    middleX: 0,
    middleZ: 0,
    floorY: 0,
    halfX: half.x,
    halfZ: half.z,
    longestSide: Math.max(2 * half.x, 2 * half.z, height),
  });
  return placeCamera({ points: turnPoints(yawDegrees, corners, ring), elevationDegrees, fill, ...frame });
}
