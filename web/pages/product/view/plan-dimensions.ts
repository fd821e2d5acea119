/** A place in a drawing, CSS px from its upper left corner. */
export interface Place {
  readonly x: number;
  readonly y: number;
}

type Point = readonly [x: number, y: number, z: number];

interface Box {
  readonly min: readonly number[];
  readonly max: readonly number[];
}

/** How a product is drawn: see `Camera` of the live view. */
export interface DrawnFrom {
  readonly shot: { readonly yawDegrees: number; readonly elevationDegrees: number };
  /** From metres to −1–1 across the drawing; column by column. */
  readonly matrix: readonly number[];
  readonly width: number;
  readonly height: number;
}

/** A dimension line, with the lines that lead to it from the product. */
export interface DimensionLine {
  readonly side: 'width' | 'depth' | 'height';
  readonly lengthMm: number;
  readonly from: Place;
  readonly to: Place;
  readonly leads: readonly (readonly [Place, Place])[];
  /** Where the middle of its figure stands, and the turn of the figure, degrees, so that it is never upside down. */
  readonly figure: Place & { readonly turn: number };
}

/** A dimension seen nearly end on is left out: its figure would not fit. */
const SHORTEST_PX = 26;
/** How far a line is from the product, as a share of its longest side. */
const GAP = 0.08;
/** How far a figure is from its line. */
const FIGURE_PX = 11;
/** A line begins this share of the gap away from the product. */
const LEAD_START = 0.15;

/** Where a point of the product is in the drawing; null behind the camera. */
export function project([x, y, z]: Point, { matrix: m, width, height }: DrawnFrom): Place | null {
  const w = m[3]! * x + m[7]! * y + m[11]! * z + m[15]!;
  if (!(w > 0)) return null;
  const right = (m[0]! * x + m[4]! * y + m[8]! * z + m[12]!) / w;
  const up = (m[1]! * x + m[5]! * y + m[9]! * z + m[13]!) / w;
  return { x: ((right + 1) / 2) * width, y: ((1 - up) / 2) * height };
}

/**
 * Dimension lines of a product's box: width and depth on the floor, on the sides that face the camera, and the height on the edge
 * that stands furthest aside.
 * @param box metres
 */
export function planDimensions(box: Box, from: DrawnFrom): DimensionLine[] {
  const [x0, y0, z0] = box.min as unknown as Point;
  const [x1, y1, z1] = box.max as unknown as Point;
  const gap = GAP * Math.max(x1 - x0, y1 - y0, z1 - z0);
  const { front, right } = facing(from);
  const [nearZ, outZ] = front ? [z1, gap] : [z0, -gap];
  const [nearX, outX] = right ? [x1, gap] : [x0, -gap];
  const middle = project([(x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2], from);
  const draw = (side: DimensionLine['side'], mm: number, a: Point, b: Point, out: Point) =>
    drawLine({ side, lengthMm: mm, a, b, out }, middle, from);
  const lines = [
    draw('width', (x1 - x0) * 1000, [x0, y0, nearZ], [x1, y0, nearZ], [0, 0, outZ]),
    draw('depth', (z1 - z0) * 1000, [nearX, y0, z0], [nearX, y0, z1], [outX, 0, 0]),
    drawHeight(box, gap, middle, from),
  ];
  return lines.filter((line) => line !== null);
}

/** Which sides of a box face the camera, which stands at +z for a yaw of 0 and at +x for 90. */
function facing({ shot: { yawDegrees } }: DrawnFrom) {
  const yaw = (yawDegrees * Math.PI) / 180;
  return { front: Math.cos(yaw) >= 0, right: Math.sin(yaw) >= -1e-9 };
}

/** The height beside the upright edge that is furthest to the left, moved further to the left. */
function drawHeight(box: Box, gap: number, middle: Place | null, from: DrawnFrom): DimensionLine | null {
  const [x0, y0, z0] = box.min as unknown as Point;
  const [x1, y1, z1] = box.max as unknown as Point;
  const yaw = (from.shot.yawDegrees * Math.PI) / 180;
  // to the left of a camera that looks at the middle
  const [leftX, leftZ] = [-Math.cos(yaw), Math.sin(yaw)];
  const corners = [x0, x1].flatMap((x) => [z0, z1].map((z) => ({ x, z, left: x * leftX + z * leftZ })));
  const { x, z } = corners.reduce((best, corner) => (corner.left > best.left + 1e-9 ? corner : best));
  const line = { side: 'height' as const, lengthMm: (y1 - y0) * 1000 };
  return drawLine({ ...line, a: [x, y0, z], b: [x, y1, z], out: [leftX * gap, 0, leftZ * gap] }, middle, from);
}

interface Wanted extends Pick<DimensionLine, 'side' | 'lengthMm'> {
  /** Ends of the edge that is measured. */
  readonly a: Point;
  readonly b: Point;
  /** From the edge to its line. */
  readonly out: Point;
}

function drawLine({ side, lengthMm, a, b, out }: Wanted, middle: Place | null, from: DrawnFrom): DimensionLine | null {
  const move = ([x, y, z]: Point, share: number): Point => [x + out[0] * share, y + out[1] * share, z + out[2] * share];
  const at = (point: Point, share: number) => project(move(point, share), from);
  const [start, end] = [at(a, 1), at(b, 1)];
  if (!start || !end || !middle || !(lengthMm > 0)) return null;
  if (Math.hypot(end.x - start.x, end.y - start.y) < SHORTEST_PX) return null;
  const leads = [a, b].flatMap((point): [Place, Place][] => {
    const [begin, over] = [at(point, LEAD_START), at(point, 1.25)];
    return begin && over ? [[begin, over]] : [];
  });
  return { side, lengthMm, from: start, to: end, leads, figure: placeFigure(start, end, middle) };
}

/** The figure stands beside the middle of its line, away from the product, and reads from the left. */
function placeFigure(start: Place, end: Place, middle: Place): DimensionLine['figure'] {
  const [x, y] = [(start.x + end.x) / 2, (start.y + end.y) / 2];
  const [alongX, alongY] = [end.x - start.x, end.y - start.y];
  const length = Math.hypot(alongX, alongY);
  const away = alongX * (y - middle.y) - alongY * (x - middle.x) >= 0 ? 1 : -1;
  let turn = (Math.atan2(alongY, alongX) * 180) / Math.PI;
  if (turn >= 90) turn -= 180;
  // an upright figure reads from below, as on drawings
  if (turn < -90.001) turn += 180;
  return {
    x: x + (-alongY / length) * FIGURE_PX * away,
    y: y + (alongX / length) * FIGURE_PX * away,
    turn,
  };
}

/** A mark of known length on the floor. */
export interface FloorMark {
  readonly lengthMm: number;
  readonly from: Place;
  readonly to: Place;
}

/** Share of the drawing's width that a mark may take. */
const LONGEST_MARK = 0.6;

/**
 * A mark of one metre on the floor in front of the product, or of a tenth of that where a metre would not fit into the drawing.
 */
export function planFloorMark(box: Box, from: DrawnFrom): FloorMark | null {
  const [x0, y0, z0] = box.min as unknown as Point;
  const [x1, , z1] = box.max as unknown as Point;
  const { front, right } = facing(from);
  const longest = Math.max(...box.max.map((value, axis) => value - box.min[axis]!));
  const yaw = (from.shot.yawDegrees * Math.PI) / 180;
  // beyond the dimension line, whose figure is in between
  const beyond = longest * GAP * 4.4;
  const isAcross = Math.abs(Math.cos(yaw)) >= Math.abs(Math.sin(yaw));
  const [middleX, middleZ] = [(x0 + x1) / 2, (z0 + z1) / 2];
  for (const lengthMm of [1000, 100]) {
    const half = lengthMm / 2000;
    const ends: readonly [Point, Point] = isAcross
      ? ([-half, half].map((x): Point => [middleX + x, y0, front ? z1 + beyond : z0 - beyond]) as [Point, Point])
      : ([-half, half].map((z): Point => [right ? x1 + beyond : x0 - beyond, y0, middleZ + z]) as [Point, Point]);
    const [start, end] = [project(ends[0], from), project(ends[1], from)];
    if (!start || !end) continue;
    const length = Math.hypot(end.x - start.x, end.y - start.y);
    if (length > from.width * LONGEST_MARK) continue;
    return length < SHORTEST_PX ? null : { lengthMm, from: start, to: end };
  }
  return null;
}
