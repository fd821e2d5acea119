import { MathUtils, type Matrix4, Vector3 } from 'three';
import type { Mount } from '../../server/core/picture/picture.ts';
import {
  type CameraCase,
  listFloorRing,
  PRODUCT_FILL,
  type Stand,
  turnPoints,
} from '../../server/core/picture/place-camera.ts';
import type { Framing } from '../../server/core/ports/renderer.ts';
import { planContact } from './contact-map.ts';
import { type FloorPatch, turnPatch } from './floor-map.ts';
import type { Product } from './load-product.ts';
import type { LightQuality } from './product-light.ts';
import { PRODUCT_RIG, type StudioScene } from './studio-scene.ts';

interface Pose {
  readonly stand: Stand;
  readonly mount: Mount;
  readonly quality: LightQuality;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly framing?: Framing;
  /** Points that a close-up frames, in the scene. */
  readonly close?: Float32Array;
  /** Part of the key of the depth maps: each product has its own. */
  readonly productKey: string;
  /**
   * Frames the space that the product needs when it turns, so that the scale stays constant while the user turns it.
   */
  readonly steady?: boolean;
  /** Under even light: without shade and without a floor. */
  readonly even?: boolean;
  /** Without shade and without a floor, in the studio's light: for a first picture. */
  readonly open?: boolean;
}

/** Half the side of the floor that lights a product from below, in radii of the product. */
const FLOOR_RADII = 2.6;

/** Turns, frames and lights a product that has its materials. After that, subsamples can be taken. */
export function poseProduct(studio: StudioScene, product: Product, pose: Pose): void {
  const { stand, mount } = pose;
  studio.useRig(PRODUCT_RIG);
  studio.turntable.rotation.y = -MathUtils.degToRad(stand.yawDegrees);
  studio.show([product.root]);
  for (const mesh of product.meshes) studio.prepare(mesh.material as Parameters<StudioScene['prepare']>[0], pose.even);

  const { widthPx, heightPx, framing = {} } = pose;
  studio.frame({
    ...listFramed(product, pose),
    elevationDegrees: stand.elevationDegrees,
    widthPx,
    heightPx,
    fill: framing.fill ?? PRODUCT_FILL,
    marginPx: framing.marginPx,
    pxPerM: framing.pxPerM,
  });

  if (pose.even || pose.open) {
    studio.light.open();
    studio.catcher.place(null);
    return;
  }
  const sphere = product.sphere.clone().applyMatrix4(studio.turntable.matrixWorld);
  const turned = studio.turntable.matrixWorld.clone();
  const contact = planContact(product.box, mount);
  const map = studio.light.prepare({
    meshes: product.meshes,
    sphere,
    quality: pose.quality,
    productKey: pose.productKey,
    turned,
    floor: mount === 'floor' || mount === 'table' ? getFloor(product, turned, sphere.radius) : null,
    contact,
  });
  studio.catcher.place(contact && map && { patch: turnPatch(contact.patch, turned), map: map.texture }, {
    sinkM: sphere.radius * 2e-4,
    marginPx: framing.marginPx,
  });
}

/** Points to frame, in the rig's frame: the product with a little floor around it, or a part of it. */
function listFramed(product: Product, { stand, mount, close, steady }: Pose): Pick<CameraCase, 'points' | 'all'> {
  if (steady) return { points: getTurningSpace(product) };
  const { yawDegrees } = stand;
  if (close) return { points: turnPoints(yawDegrees, close), all: turnPoints(yawDegrees, product.points) };
  const { points, box } = product;
  const middle = box.getCenter(new Vector3());
  const foot = getFootprint(product);
  const ring = listFloorRing(mount, {
    middleX: middle.x,
    middleZ: middle.z,
    floorY: box.min.y,
    halfX: foot.x,
    halfZ: foot.z,
    longestSide: Math.max(...box.getSize(new Vector3()).toArray()),
  });
  return { points: turnPoints(yawDegrees, points, ring) };
}

/** The cylinder around the product's axis of rotation. */
function getTurningSpace({ points, box }: Product): Float32Array {
  let radius = 0;
  for (let at = 0; at < points.length; at += 3) radius = Math.max(radius, Math.hypot(points[at]!, points[at + 2]!));
  const drum: number[] = [];
  for (let step = 0; step < 24; step++) {
    const angle = (step / 24) * 2 * Math.PI;
    for (const y of [box.min.y, box.max.y]) drum.push(Math.sin(angle) * radius, y, Math.cos(angle) * radius);
  }
  return new Float32Array(drum);
}

/** Half sizes of the foot: the lowest twentieth of the product. */
function getFootprint({ points, box }: Product): { x: number; z: number } {
  const level = box.min.y + (box.max.y - box.min.y) * 0.05;
  const middle = box.getCenter(new Vector3());
  const half = { x: 0, z: 0 };
  for (let at = 0; at < points.length; at += 3) {
    if (points[at + 1]! > level) continue;
    half.x = Math.max(half.x, Math.abs(points[at]! - middle.x));
    half.z = Math.max(half.z, Math.abs(points[at + 2]! - middle.z));
  }
  return half;
}

function getFloor(product: Product, turned: Matrix4, radius: number): FloorPatch {
  const half = radius * FLOOR_RADII;
  const middle = product.box.getCenter(new Vector3());
  return {
    centre: new Vector3(middle.x, product.box.min.y, middle.z).applyMatrix4(turned),
    // Along +x and +z of the rig, as the shader reads the map.
    across: new Vector3(half, 0, 0),
    along: new Vector3(0, 0, half),
    normal: new Vector3(0, 1, 0),
  };
}
