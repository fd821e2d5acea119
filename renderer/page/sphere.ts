import {
  BufferGeometry,
  DataTexture,
  Float32BufferAttribute,
  FloatType,
  LinearFilter,
  MathUtils,
  Mesh,
  RedFormat,
  Vector3,
} from 'three';
import type { FloorPatch } from './floor-map.ts';
import { calibrate } from './grey-card.ts';
import type { Rig, StudioScene } from './studio-scene.ts';
import type { SwatchShape } from './swatch-shape.ts';

/** The swatch sphere: 100 mm across, with UVs in metres, so maps have the scale of the product. */
export const SPHERE_RADIUS = 0.05;

/** Share of the frame the sphere fills. */
const FILL = 0.88;

/** Reach of the shadow from the foot of the sphere, in radii: the frame has no more room. */
const REACH = 1.2;

/** The camera looks down a little, as in the hero view. */
const ELEVATION_DEGREES = 12;

const RIG: Rig = { light: 'studio', elevationDegrees: ELEVATION_DEGREES };
const METAL_RIG: Rig = { light: 'screen', elevationDegrees: ELEVATION_DEGREES };

/**
 * Subsamples of a swatch by its size. The shading is already smooth. Only the outline needs subsamples, more of them in
 * a small picture. A 256 px swatch takes at most forty milliseconds on two cores without a GPU.
 */
function getSphereSubsamples(sizePx: number): number {
  if (sizePx <= 128) return 16;
  return sizePx <= 200 ? 8 : 4;
}

export function createSphere(studio: StudioScene): SwatchShape {
  for (const rig of [RIG, METAL_RIG]) calibrate(studio, rig);
  const mesh = new Mesh(createSphereGeometry());
  mesh.frustumCulled = false;
  mesh.renderOrder = 1;
  const patch: FloorPatch = {
    centre: new Vector3(0, -SPHERE_RADIUS, 0),
    across: new Vector3(SPHERE_RADIUS * REACH, 0, 0),
    along: new Vector3(0, 0, -SPHERE_RADIUS * REACH),
    normal: new Vector3(0, 1, 0),
  };
  const shadow = createContactShadow(patch.across.length());
  const points = new Float32Array(mesh.geometry.getAttribute('position').array);
  return {
    mesh,
    open: true,
    twoSided: false,
    getSubsamples: getSphereSubsamples,
    pose({ flat, metal }) {
      studio.useRig(metal ? METAL_RIG : RIG);
      studio.turntable.rotation.y = 0;
      studio.show([mesh]);
      studio.frame({ points, elevationDegrees: ELEVATION_DEGREES, widthPx: 1, heightPx: 1, fill: FILL });
      studio.light.open();
      studio.catcher.place(flat ? null : { patch, map: shadow });
    },
  };
}

/** Points around the rim: at 1024 px the polygon is within a quarter of a pixel of the circle. */
const SEGMENTS = 96;

/** Rings from the facing point to just behind the rim, closer towards the rim, where the outline is. */
const RINGS = 14;
const LAST_RING_DEGREES = 98;

/**
 * The visible half of the sphere, with its pole at the camera. It has few triangles, because software GL pays for each
 * in every subsample, and exact normals. UVs run from the pole outwards, equal in distance. They are true to scale in
 * the middle, without a visible seam or pinch. u grows to the right, v downwards, as in glTF.
 */
function createSphereGeometry(): BufferGeometry {
  const elevation = MathUtils.degToRad(ELEVATION_DEGREES);
  const front = new Vector3(0, Math.sin(elevation), Math.cos(elevation));
  const up = new Vector3(0, Math.cos(elevation), -Math.sin(elevation));
  const positions: number[] = [];
  const normals: number[] = [];
  const uvs: number[] = [];
  const indices: number[] = [];
  for (let ring = 0; ring <= RINGS; ring++) {
    const angle = MathUtils.degToRad(LAST_RING_DEGREES) * Math.sin(((ring / RINGS) * Math.PI) / 2);
    for (let segment = 0; segment < SEGMENTS; segment++) {
      const turn = (segment / SEGMENTS) * 2 * Math.PI;
      const [x, y] = [Math.cos(turn), Math.sin(turn)];
      const normal = new Vector3(x * Math.sin(angle), 0, 0);
      normal.addScaledVector(up, y * Math.sin(angle)).addScaledVector(front, Math.cos(angle));
      normals.push(...normal.toArray());
      positions.push(...normal.multiplyScalar(SPHERE_RADIUS).toArray());
      uvs.push(x * angle * SPHERE_RADIUS, -y * angle * SPHERE_RADIUS);
      if (ring === RINGS) continue;
      const here = ring * SEGMENTS + segment;
      const next = ring * SEGMENTS + ((segment + 1) % SEGMENTS);
      indices.push(here, here + SEGMENTS, next + SEGMENTS);
      if (ring > 0) indices.push(here, next + SEGMENTS, next);
    }
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new Float32BufferAttribute(positions, 3));
  geometry.setAttribute('normal', new Float32BufferAttribute(normals, 3));
  geometry.setAttribute('uv', new Float32BufferAttribute(uvs, 2));
  geometry.setIndex(indices);
  return geometry;
}

/**
 * Share of an even sky's light that a floor loses to a sphere resting on it: (R / d)³, where d is the distance to the
 * sphere's centre (the form factor of a sphere), faded towards the edge. With this formula a swatch needs no depth
 * maps.
 */
function createContactShadow(half: number): DataTexture {
  const sizePx = 128;
  const dark = new Float32Array(sizePx * sizePx);
  for (let row = 0; row < sizePx; row++) {
    for (let column = 0; column < sizePx; column++) {
      const x = ((column + 0.5) / sizePx) * 2 - 1;
      const z = ((row + 0.5) / sizePx) * 2 - 1;
      const away = Math.hypot(x, z);
      const lost = (SPHERE_RADIUS / Math.hypot(away * half, SPHERE_RADIUS)) ** 3;
      dark[row * sizePx + column] = lost * Math.max(1 - away * away, 0) ** 2;
    }
  }
  const texture = new DataTexture(dark, sizePx, sizePx, RedFormat, FloatType);
  texture.minFilter = texture.magFilter = LinearFilter;
  texture.needsUpdate = true;
  return texture;
}
