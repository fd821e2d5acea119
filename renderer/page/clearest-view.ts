import {
  Box3,
  type Camera,
  DoubleSide,
  Group,
  type Material,
  MathUtils,
  type Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Scene,
  ShaderMaterial,
  UnsignedByteType,
  Vector3,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { STANDS, type Stand, turnPoints } from '../../server/core/picture/place-camera.ts';
import { STUDIO_PROBLEMS } from '../../server/core/texts/problems/picture.ts';
import { frameView } from './camera.ts';
import type { Product } from './load-product.ts';
import { StudioProblem } from './studio-problem.ts';

/** Side of the pictures in which visible pixels are counted. */
const SIDE_PX = 96;

/** A part with fewer visible pixels is only glimpsed. */
const LEAST_SEEN = 20;

/**
 * Directions for a part, with the weight of the surface visible from each. The hero view is preferred, so that pictures
 * of one product match. A view from behind is used only if the front shows little of the part, and one from above only
 * if no other shows it, because a plan shows least of a shape. The weights are judgement.
 */
const CANDIDATES: readonly { readonly stand: Stand; readonly weight: number }[] = [
  { stand: STANDS['three-quarter'], weight: 1.25 },
  { stand: STANDS['three-quarter-left'], weight: 1.1 },
  { stand: STANDS.front, weight: 1 },
  { stand: STANDS.side, weight: 0.85 },
  { stand: { ...STANDS.side, yawDegrees: -STANDS.side.yawDegrees }, weight: 0.8 },
  { stand: { ...STANDS['three-quarter'], yawDegrees: 180 - STANDS['three-quarter'].yawDegrees }, weight: 0.7 },
  { stand: { ...STANDS['three-quarter'], yawDegrees: STANDS['three-quarter'].yawDegrees - 180 }, weight: 0.65 },
  { stand: STANDS.back, weight: 0.65 },
  { stand: STANDS.top, weight: 0.4 },
];

/** Weights of surface that faces the middle of its part, like the inside of a shade, and of back faces. Judgement. */
const INWARD = 0.4;
const BACK_FACE = 0.6;

/**
 * A flat part faces neither to its middle nor away from it. Up to this share of its half diagonal counts as facing
 * away.
 */
const FLAT = 0.05;

/**
 * Finds the stand that shows most of the outer side of some parts, in apparent square metres, framed closely and with
 * the other parts in front of them. The outer side faces away from the middle of the parts and is the front of its
 * triangle. The finish does not matter: a part with holes counts as solid.
 * @throws StudioProblem `picture-nothing-to-see` if no view shows them
 */
export function findClearestView(
  renderer: WebGLRenderer,
  product: Product,
  parts: ReadonlySet<Mesh>,
  points: Float32Array,
): Stand {
  const target = new WebGLRenderTarget(SIDE_PX, SIDE_PX, { type: UnsignedByteType });
  const shown = createOuterMaterial();
  const other = new MeshBasicMaterial({ color: 0x000000, side: DoubleSide, toneMapped: false });
  const scene = new Scene();
  const turntable = new Group();
  const original = new Map<Mesh, Material>();
  const box = new Box3().setFromArray(points);
  const middle = box.getCenter(new Vector3());
  shown.uniforms.slack!.value = (FLAT * box.min.distanceTo(box.max)) / 2;
  try {
    turntable.add(product.root);
    scene.add(turntable);
    for (const mesh of product.meshes) {
      original.set(mesh, mesh.material as Material);
      mesh.material = parts.has(mesh) ? shown : other;
    }
    let best: { readonly stand: Stand; readonly seen: number } | undefined;
    for (const { stand, weight } of CANDIDATES) {
      turntable.rotation.y = -MathUtils.degToRad(stand.yawDegrees);
      turntable.updateMatrixWorld(true);
      const camera = new PerspectiveCamera();
      const { pxPerM } = frameView(camera, {
        points: turnPoints(stand.yawDegrees, points),
        all: turnPoints(stand.yawDegrees, product.points),
        elevationDegrees: stand.elevationDegrees,
        widthPx: SIDE_PX,
        heightPx: SIDE_PX,
        fill: 1,
      });
      (shown.uniforms.middle!.value as Vector3)
        .copy(middle)
        .applyMatrix4(turntable.matrixWorld)
        .applyMatrix4(camera.matrixWorldInverse);
      const { pixels, outer } = countSeen(renderer, target, scene, camera);
      if (pixels < LEAST_SEEN) continue;
      const seen = (outer / pxPerM ** 2) * weight;
      if (!best || seen > best.seen) best = { stand, seen };
    }
    if (!best) {
      throw new StudioProblem('picture-nothing-to-see', STUDIO_PROBLEMS['picture-nothing-to-see'].hidden);
    }
    return best.stand;
  } finally {
    for (const [mesh, material] of original) mesh.material = material;
    for (const part of [target, shown, other]) part.dispose();
  }
}

/** Red is the weight of a pixel of the part, 0–1; above 0 wherever the part is visible. */
function createOuterMaterial(): ShaderMaterial {
  return new ShaderMaterial({
    side: DoubleSide,
    toneMapped: false,
    uniforms: { middle: { value: new Vector3() }, slack: { value: 0 } },
    vertexShader: /* glsl */ `
#include <common>
#include <batching_pars_vertex>
#include <morphtarget_pars_vertex>
#include <skinning_pars_vertex>
varying vec3 place;
void main() {
  #include <skinbase_vertex>
  #include <begin_vertex>
  #include <morphinstance_vertex>
  #include <morphtarget_vertex>
  #include <skinning_vertex>
  #include <project_vertex>
  place = mvPosition.xyz;
}`,
    fragmentShader: /* glsl */ `
uniform vec3 middle;
uniform float slack;
varying vec3 place;
void main() {
  // of the facet, towards the viewer, whichever way it is wound
  vec3 facet = normalize( cross( dFdx( place ), dFdy( place ) ) );
  bool outward = dot( facet, place - middle ) > - slack;
  gl_FragColor = vec4( ( outward ? 1.0 : ${INWARD} ) * ( gl_FrontFacing ? 1.0 : ${BACK_FACE} ), 0.0, 0.0, 1.0 );
}`,
  });
}

/** Pixels that show the parts, and their weighted sum. */
function countSeen(
  renderer: WebGLRenderer,
  target: WebGLRenderTarget,
  scene: Scene,
  camera: Camera,
): { readonly pixels: number; readonly outer: number } {
  renderer.setRenderTarget(target);
  renderer.clear();
  renderer.render(scene, camera);
  const levels = new Uint8Array(SIDE_PX * SIDE_PX * 4);
  renderer.readRenderTargetPixels(target, 0, 0, SIDE_PX, SIDE_PX, levels);
  let [pixels, outer] = [0, 0];
  for (let at = 0; at < levels.length; at += 4) {
    if (levels[at] === 0) continue;
    pixels++;
    outer += levels[at]! / 255;
  }
  return { pixels, outer };
}
