import {
  DataTexture,
  EquirectangularReflectionMapping,
  FloatType,
  LinearFilter,
  LinearSRGBColorSpace,
  MathUtils,
  PMREMGenerator,
  RGBAFormat,
  type Texture,
  type WebGLRenderer,
} from 'three';

/**
 * The studio's light, by code: softboxes, flags, a room and a white floor, as radiance over the sphere of directions.
 *
 * Directions are in the rig's frame: the camera is at azimuth 0 (+z), azimuth grows towards the camera's right (+x), +y
 * is up. The rig keeps to the camera's azimuth. The product turns and the light does not, so all views have the same
 * light. Radiance is relative; the grey card fixes the exposure. All light is neutral (D65), so it tints no finish.
 */
interface Softbox {
  readonly name: string;
  readonly azimuthDegrees: number;
  readonly elevationDegrees: number;
  readonly halfWidthDegrees: number;
  readonly halfHeightDegrees: number;
  /** Relative radiance in the middle of the box. */
  readonly radiance: number;
  /** Width of the soft border as a share of the half size, 0–1: a diffuser has no sharp edge. */
  readonly border: number;
}

/** Later entries are in front of earlier ones. A dark entry is a flag, which gives metal and gloss an edge. */
export const SOFTBOXES: readonly Softbox[] = [
  box('overhead', 0, 80, 44, 36, 1.35, 0.5),
  box('key', -48, 40, 24, 27, 6.4, 0.4),
  box('fill wall', 44, 22, 30, 30, 0.75, 0.7),
  box('right strip', 84, 18, 8, 38, 3.6, 0.35),
  box('left rim strip', -122, 20, 9, 40, 3.4, 0.35),
  box('right rim strip', 140, 22, 9, 36, 2.6, 0.35),
  box('left flag', -92, 12, 9, 34, 0.05, 0.5),
  box('right flag', 106, 12, 7, 32, 0.05, 0.5),
];

/** Towards the middle of the key light, in the rig's frame. */
export const KEY_DIRECTION: Axis = toDirection(SOFTBOXES.find(({ name }) => name === 'key')!);

/**
 * Radiance of the room at the horizon and at the zenith: a light grey tent, which keeps the shape of blacks visible.
 */
const ROOM_HORIZON = 0.34;
const ROOM_ZENITH = 0.24;

/**
 * Radiance of the white floor straight below and towards the horizon. It fills undersides gently. Its gradient gives
 * shape to the lower half of polished metal.
 */
const FLOOR_NADIR = 0.36;
const FLOOR_HORIZON = 0.72;

/** Radiance of an even floor with the same effect on an underside: the mean over directions, weighted by cosine. */
export const FLOOR_RADIANCE = FLOOR_NADIR + (FLOOR_HORIZON - FLOOR_NADIR) / 3;

/** Half width of the blend between floor and room, in sines of elevation. It avoids a horizon line. */
const SWEEP = 0.06;

/** Relative radiance that arrives from a unit direction of the rig's frame. */
export function getRadiance(x: number, y: number, z: number): number {
  const room = ROOM_HORIZON + (ROOM_ZENITH - ROOM_HORIZON) * Math.max(0, y);
  let radiance = room;
  for (const entry of FRAMES) {
    const facing = x * entry.centre[0] + y * entry.centre[1] + z * entry.centre[2];
    if (facing <= 0) continue;
    const across = Math.abs(x * entry.right[0] + y * entry.right[1] + z * entry.right[2]) / (facing * entry.halfWidth);
    const along = Math.abs(x * entry.up[0] + y * entry.up[1] + z * entry.up[2]) / (facing * entry.halfHeight);
    if (across >= 1 || along >= 1) continue;
    const mask = fade(across, entry.softbox.border) * fade(along, entry.softbox.border);
    radiance += (entry.softbox.radiance - radiance) * mask;
  }
  const above = MathUtils.smoothstep(y, -SWEEP, SWEEP);
  const floor = FLOOR_NADIR + (FLOOR_HORIZON - FLOOR_NADIR) * (1 - Math.min(1, Math.abs(y)));
  return floor + (radiance - floor) * above;
}

/**
 * A white screen for metals on the sphere and the panel, with the lens in its middle. Surfaces that face the viewer
 * mirror it. Other finishes have no screen: both clearcoat and base of a lacquer would mirror it and look like a grey
 * card.
 *
 * A metal looks like its reflections. Without the screen it mirrored a room with a third of the light of a card that
 * faces the camera, and polished metals were too dark by ΔE00 14 to 27. The screen has nine tenths of the radiance of a
 * white card there, so a metal shows its own reflectance in the middle.
 *
 * It is so large that a satin metal mirrors little else, and it fades slowly. A round screen, which leaves more of the
 * room visible, looks like an eye in polished metal. It fades between these angles, in degrees from the lens: above and
 * below by elevation, aside by azimuth.
 */
const SCREEN = { radiance: 1.24, above: [10, 44], below: [5, 90], aside: [50, 150] } as const;

const toSine = (degrees: number) => Math.sin(MathUtils.degToRad(degrees));
const toCosine = (degrees: number) => Math.cos(MathUtils.degToRad(degrees));

/** {@link getRadiance} with the screen, around a lens that looks along −z. */
export function getScreenedRadiance(x: number, y: number, z: number): number {
  const [from, to] = y > 0 ? SCREEN.above : SCREEN.below;
  const upright = 1 - MathUtils.smoothstep(Math.abs(y), toSine(from), toSine(to));
  const [near, far] = SCREEN.aside;
  const inFront = MathUtils.smoothstep(z / Math.max(Math.hypot(x, z), 1e-9), toCosine(far), toCosine(near));
  return Math.max(getRadiance(x, y, z), SCREEN.radiance * upright * inFront);
}

function fade(position: number, border: number): number {
  return 1 - MathUtils.smoothstep(position, 1 - border, 1);
}

function box(
  name: string,
  azimuthDegrees: number,
  elevationDegrees: number,
  halfWidthDegrees: number,
  halfHeightDegrees: number,
  radiance: number,
  border: number,
): Softbox {
  return { name, azimuthDegrees, elevationDegrees, halfWidthDegrees, halfHeightDegrees, radiance, border };
}

type Axis = readonly [number, number, number];

interface Frame {
  readonly softbox: Softbox;
  readonly centre: Axis;
  readonly right: Axis;
  readonly up: Axis;
  /** Tangents of the half angles. */
  readonly halfWidth: number;
  readonly halfHeight: number;
}

function toDirection({ azimuthDegrees, elevationDegrees }: Softbox): Axis {
  const [azimuth, elevation] = [MathUtils.degToRad(azimuthDegrees), MathUtils.degToRad(elevationDegrees)];
  return [Math.sin(azimuth) * Math.cos(elevation), Math.sin(elevation), Math.cos(azimuth) * Math.cos(elevation)];
}

const FRAMES: readonly Frame[] = SOFTBOXES.map((softbox) => {
  const azimuth = MathUtils.degToRad(softbox.azimuthDegrees);
  const elevation = MathUtils.degToRad(softbox.elevationDegrees);
  const [sinA, cosA, sinE, cosE] = [Math.sin(azimuth), Math.cos(azimuth), Math.sin(elevation), Math.cos(elevation)];
  return {
    softbox,
    centre: toDirection(softbox),
    right: [cosA, 0, -sinA],
    up: [-sinA * sinE, cosE, -cosA * sinE],
    halfWidth: Math.tan(MathUtils.degToRad(softbox.halfWidthDegrees)),
    halfHeight: Math.tan(MathUtils.degToRad(softbox.halfHeightDegrees)),
  };
});

/** Four times the 256 px face that three prefilters: enough for the soft borders of the boxes in a mirror. */
const WIDTH_PX = 1024;
const HEIGHT_PX = 512;

/**
 * Prefilters a light for image-based lighting: mirror reflections at level 0, irradiance at the last level.
 * @param radianceFrom linear radiance ≥ 0 that arrives from a unit direction of the rig's frame
 */
export function createEnvironment(
  renderer: WebGLRenderer,
  radianceFrom: (x: number, y: number, z: number) => number,
): Texture {
  const data = new Float32Array(WIDTH_PX * HEIGHT_PX * 4);
  let at = 0;
  for (let row = 0; row < HEIGHT_PX; row++) {
    // three reads an equirectangular map with v = asin(y) / π + ½ and u = atan2(z, x) / 2π + ½
    const elevation = ((row + 0.5) / HEIGHT_PX - 0.5) * Math.PI;
    const [y, ring] = [Math.sin(elevation), Math.cos(elevation)];
    for (let column = 0; column < WIDTH_PX; column++) {
      const angle = ((column + 0.5) / WIDTH_PX - 0.5) * 2 * Math.PI;
      const radiance = radianceFrom(ring * Math.cos(angle), y, ring * Math.sin(angle));
      data[at] = data[at + 1] = data[at + 2] = radiance;
      data[at + 3] = 1;
      at += 4;
    }
  }
  const sky = new DataTexture(data, WIDTH_PX, HEIGHT_PX, RGBAFormat, FloatType);
  sky.mapping = EquirectangularReflectionMapping;
  sky.colorSpace = LinearSRGBColorSpace;
  sky.minFilter = sky.magFilter = LinearFilter;
  sky.needsUpdate = true;
  const generator = new PMREMGenerator(renderer);
  const environment = generator.fromEquirectangular(sky).texture;
  generator.dispose();
  sky.dispose();
  return environment;
}
