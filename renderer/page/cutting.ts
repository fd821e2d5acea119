import { BufferAttribute, BufferGeometry, MathUtils, Mesh, type Sphere, Vector3 } from 'three';
import { SUBSAMPLES } from './camera.ts';
import { planContact } from './contact-map.ts';
import { type FloorPatch, turnPatch } from './floor-map.ts';
import { calibrate } from './grey-card.ts';
import type { Rig, StudioScene } from './studio-scene.ts';
import type { SwatchShape } from './swatch-shape.ts';

/** Three quarters from above: folds run away from the viewer, across the key light. */
const ELEVATION_DEGREES = 36;
const YAW_DEGREES = 24;

/** The light of products. The card is tilted like the cloth as a whole, which gets more light than an upright card. */
const RIG: Rig = { light: 'studio', elevationDegrees: ELEVATION_DEGREES };

/** Share of the frame the cloth fills. */
const FILL = 0.9;

/** Half the side of the floor that lights the cloth from below, in radii of the cloth. */
const FLOOR_RADII = 2;

/** A draped piece of cloth, lit and shaded like a product. */
export function createCutting(studio: StudioScene): SwatchShape {
  calibrate(studio, RIG);
  const mesh = new Mesh(createGeometry());
  mesh.frustumCulled = false;
  mesh.renderOrder = 1;
  const yaw = MathUtils.degToRad(YAW_DEGREES);
  const points = new Float32Array(mesh.geometry.getAttribute('position').array);
  const place = new Vector3();
  for (let at = 0; at < points.length; at += 3) {
    place
      .fromArray(points, at)
      .applyAxisAngle(new Vector3(0, 1, 0), yaw)
      .toArray(points, at);
  }
  mesh.geometry.computeBoundingSphere();
  mesh.geometry.computeBoundingBox();
  return {
    mesh,
    open: false,
    twoSided: true,
    getSubsamples: () => SUBSAMPLES.still,
    pose({ flat }) {
      studio.useRig(RIG);
      studio.turntable.rotation.y = yaw;
      studio.show([mesh]);
      studio.frame({ points, elevationDegrees: ELEVATION_DEGREES, widthPx: 1, heightPx: 1, fill: FILL });
      studio.light.open();
      studio.catcher.place(null);
      if (flat) return;
      const turned = studio.turntable.matrixWorld.clone();
      const sphere = (mesh.geometry.boundingSphere as Sphere).clone().applyMatrix4(turned);
      const half = sphere.radius * FLOOR_RADII;
      const floor: FloorPatch = {
        centre: new Vector3(0, 0, 0),
        across: new Vector3(half, 0, 0),
        along: new Vector3(0, 0, half),
        normal: new Vector3(0, 1, 0),
      };
      const contact = planContact(mesh.geometry.boundingBox!, 'table')!;
      const map = studio.light.prepare({
        meshes: [mesh],
        sphere,
        quality: 'still',
        productKey: 'cutting',
        turned,
        floor,
        contact,
      })!;
      studio.catcher.place(
        { patch: turnPatch(contact.patch, turned), map: map.texture },
        { sinkM: sphere.radius * 2e-4 },
      );
    },
  };
}

function createGeometry(): BufferGeometry {
  const { positions, uvs, indices } = createDrape();
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(positions, 3));
  geometry.setAttribute('uv', new BufferAttribute(uvs, 2));
  geometry.setIndex(new BufferAttribute(indices, 1));
  geometry.computeVertexNormals();
  return geometry;
}

/** Side of the piece of cloth, metres. */
export const CLOTH_SIDE = 0.2;

/** Teeth of the pinking shears, metres: pitch and depth; pinked edges keep a sample from fraying. */
const TOOTH_PITCH = 0.004;
const TOOTH_DEPTH = 0.0022;

/** Inner squares are as wide as half a tooth; the first ring is wide enough to hold the teeth. */
const CELL = TOOTH_PITCH / 2;
const CELLS = Math.round(CLOTH_SIDE / CELL);

/** Folds across the cloth, and the steepest slope of them at its back and at its front edge, radians. */
const FOLDS = 2.5;
const SLOPE_BACK = 1.12;
const SLOPE_FRONT = 0.3;

/** The front right corner is turned back: how far along its diagonal, on what radius (metres), and by which angle. */
const FLAP = 0.062;
const FLAP_RADIUS = 0.011;
const FLAP_ANGLE = (158 * Math.PI) / 180;

/** Steps of the integral along a row. */
const STEPS = 200;

interface Drape {
  readonly positions: Float32Array;
  /** Metres on the cloth from its left back corner: 1 UV = 1 m. */
  readonly uvs: Float32Array;
  readonly indices: Uint32Array;
}

/** A square of cloth with pinked edges, gathered at its back, a corner turned back; y up, resting on 0, front to +z. */
export function createDrape(): Drape {
  const side = CELLS + 1;
  const positions = new Float32Array(side * side * 3);
  const uvs = new Float32Array(side * side * 2);
  const indices: number[] = [];
  const placeOnCloth = createPlacer();
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const [across, along] = [cut(column, row), cut(row, column)];
      const at = row * side + column;
      uvs.set([across, along], at * 2);
      positions.set(placeOnCloth(across, along), at * 3);
      if (row === CELLS || column === CELLS) continue;
      const below = at + side;
      indices.push(at, below, at + 1, at + 1, below, below + 1);
    }
  }
  return { positions, uvs, indices: new Uint32Array(indices) };
}

/** Coordinate of a grid line. On a border every other point moves inwards, and the next line leaves room for it. */
function cut(index: number, other: number): number {
  if (index > 1 && index < CELLS - 1) return index * CELL;
  const border = index === 0 || index === CELLS;
  const inset = border ? (other % 2 === 0 ? 0 : TOOTH_DEPTH) : TOOTH_DEPTH + CELL * 0.4;
  return index <= 1 ? inset : CLOTH_SIDE - inset;
}

type Point = readonly [number, number, number];

/**
 * The place of a point of the cloth. Cloth bends and hardly stretches: the path along a row follows its slope, so it is as
 * long as the cloth; rows differ slowly; and the corner winds around a cylinder.
 */
function createPlacer(): (across: number, along: number) => Point {
  const rows = new Map<number, Float64Array>();
  const getRow = (along: number) => {
    let row = rows.get(along);
    if (!row) rows.set(along, (row = followRow(along)));
    return row;
  };
  const bend = (across: number, along: number): Point => {
    const row = getRow(along);
    const place = Math.min(Math.max(across / CLOTH_SIDE, 0), 1) * STEPS;
    const step = Math.min(Math.floor(place), STEPS - 1);
    const share = place - step;
    const mix = (axis: number) => row[step * 2 + axis]! + (row[step * 2 + 2 + axis]! - row[step * 2 + axis]!) * share;
    return [mix(0), mix(1), along - CLOTH_SIDE / 2];
  };
  const start = (2 * CLOTH_SIDE) / Math.SQRT2 - FLAP;
  return (across, along) => {
    const beyond = (across + along) / Math.SQRT2 - start;
    if (beyond <= 0) return bend(across, along);
    const foot = bend(across - beyond / Math.SQRT2, along - beyond / Math.SQRT2);
    const bent = Math.min(beyond / FLAP_RADIUS, FLAP_ANGLE);
    const straight = beyond - bent * FLAP_RADIUS;
    const forward = FLAP_RADIUS * Math.sin(bent) + straight * Math.cos(bent);
    const up = FLAP_RADIUS * (1 - Math.cos(bent)) + straight * Math.sin(bent);
    return [foot[0] + forward / Math.SQRT2, foot[1] + up, foot[2] + forward / Math.SQRT2];
  };
}

/** x and y along a row in even steps of the cloth; its middle at x = 0, its lowest point at y = 0. */
function followRow(along: number): Float64Array {
  const path = new Float64Array((STEPS + 1) * 2);
  const length = CLOTH_SIDE / STEPS;
  let lowest = 0;
  for (let step = 0; step < STEPS; step++) {
    const slope = getSlope((step + 0.5) * length, along);
    path[step * 2 + 2] = path[step * 2]! + Math.cos(slope) * length;
    path[step * 2 + 3] = path[step * 2 + 1]! + Math.sin(slope) * length;
    lowest = Math.min(lowest, path[step * 2 + 3]!);
  }
  const middle = path[STEPS * 2]! / 2;
  for (let step = 0; step <= STEPS; step++) {
    path[step * 2]! -= middle;
    path[step * 2 + 1]! -= lowest;
  }
  return path;
}

function getSlope(across: number, along: number): number {
  const [u, v] = [across / CLOTH_SIDE, along / CLOTH_SIDE];
  const steep = SLOPE_BACK + (SLOPE_FRONT - SLOPE_BACK) * smooth(v);
  // The turned corner rests on flat cloth.
  const calm = 1 - smooth((u + v - 1.05) / 0.45);
  const wave = 2 * Math.PI * FOLDS * (u + 0.05 * Math.sin(2 * Math.PI * u) + 0.06 * v * (1 - u)) + 0.5;
  return steep * calm * (Math.sin(wave) + 0.18 * Math.sin(2 * wave + 1.3));
}

function smooth(value: number): number {
  const within = Math.min(Math.max(value, 0), 1);
  return within * within * (3 - 2 * within);
}
