import {
  type Camera,
  DoubleSide,
  Group,
  type Material,
  MathUtils,
  type Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Scene,
  UnsignedByteType,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { VIEWS, type View } from '../../server/core/picture/picture.ts';
import { turnPoints } from '../../server/core/picture/rig-points.ts';
import { frameView } from './frame-view.ts';
import type { Product } from './load-product.ts';
import { StudioProblem } from './studio-problem.ts';
import { STANDS, type Stand } from './views.ts';

/** Side of the pictures in which is counted what is seen. */
const SIDE_PX = 96;

/** Pixels of these that are a view of something, and not a glimpse. */
const LEAST_SEEN = 20;

/**
 * From elsewhere than the hero view only where clearly more is seen, since pictures of one product then go together; and from
 * above only where nothing else shows it, since a plan tells least of a shape.
 */
const WEIGHTS: Partial<Record<View, number>> = { 'three-quarter': 1.25, top: 0.4 };

/**
 * The stand from which most of some parts is seen, framed closely and past all that stands before them. Materials do not
 * matter: what has holes counts as solid.
 * @throws StudioProblem `picture-nothing-to-see` where no view shows them
 */
export function findClearestStand(
  renderer: WebGLRenderer,
  product: Product,
  parts: ReadonlySet<Mesh>,
  points: Float32Array,
): Stand {
  const target = new WebGLRenderTarget(SIDE_PX, SIDE_PX, { type: UnsignedByteType });
  const shown = new MeshBasicMaterial({ color: 0xffffff, side: DoubleSide, toneMapped: false });
  const other = new MeshBasicMaterial({ color: 0x000000, side: DoubleSide, toneMapped: false });
  const scene = new Scene();
  const turntable = new Group();
  const worn = new Map<Mesh, Material>();
  try {
    turntable.add(product.root);
    scene.add(turntable);
    for (const mesh of product.meshes) {
      worn.set(mesh, mesh.material as Material);
      mesh.material = parts.has(mesh) ? shown : other;
    }
    let best: { readonly stand: Stand; readonly seen: number } | undefined;
    for (const view of VIEWS) {
      const stand = STANDS[view];
      turntable.rotation.y = -MathUtils.degToRad(stand.yawDegrees);
      turntable.updateMatrixWorld(true);
      const camera = new PerspectiveCamera();
      frameView(camera, {
        points: turnPoints(stand.yawDegrees, points),
        all: turnPoints(stand.yawDegrees, product.points),
        elevationDegrees: stand.elevationDegrees,
        widthPx: SIDE_PX,
        heightPx: SIDE_PX,
        fill: 1,
      });
      const seen = countSeen(renderer, target, scene, camera) * (WEIGHTS[view] ?? 1);
      if (!best || seen > best.seen) best = { stand, seen };
    }
    if (!best || best.seen < LEAST_SEEN) {
      throw new StudioProblem(
        'picture-nothing-to-see',
        'Other parts stand before these from every side: no view shows them.',
      );
    }
    return best.stand;
  } finally {
    for (const [mesh, material] of worn) mesh.material = material;
    for (const part of [target, shown, other]) part.dispose();
  }
}

function countSeen(renderer: WebGLRenderer, target: WebGLRenderTarget, scene: Scene, camera: Camera): number {
  renderer.setRenderTarget(target);
  renderer.clear();
  renderer.render(scene, camera);
  const pixels = new Uint8Array(SIDE_PX * SIDE_PX * 4);
  renderer.readRenderTargetPixels(target, 0, 0, SIDE_PX, SIDE_PX, pixels);
  let seen = 0;
  for (let at = 0; at < pixels.length; at += 4) if (pixels[at]! > 127) seen++;
  return seen;
}
