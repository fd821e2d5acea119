import { BufferAttribute, BufferGeometry, MathUtils, Mesh, type Sphere, Vector3 } from 'three';
import { planContact } from './contact-map.ts';
import { createDrape } from './drape.ts';
import { type FloorPatch, turnPatch } from './floor-map.ts';
import { calibrate } from './grey-card.ts';
import type { Rig, StudioScene } from './studio-scene.ts';
import { SUBSAMPLES } from './subsamples.ts';
import type { SwatchShape } from './swatch-shape.ts';

/** Three quarters from above: folds run away from the viewer, across the key light. */
const ELEVATION_DEGREES = 36;
const YAW_DEGREES = 24;

/** The light of products; the card lies aslant as the cloth does on the whole, which gets more of the light than an upright one. */
const RIG: Rig = { light: 'studio', elevationDegrees: ELEVATION_DEGREES };

/** Share of the frame the cloth fills. */
const FILL = 0.9;

/** Half the side of the floor that lights it from below, in radii of the cloth. */
const FLOOR_RADII = 2;

/** A draped piece of cloth, lit and shaded as a product is. */
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
    set({ flat }) {
      studio.useRig(RIG);
      studio.turntable.rotation.y = yaw;
      studio.show([mesh]);
      studio.frame({ points, elevationDegrees: ELEVATION_DEGREES, widthPx: 1, heightPx: 1, fill: FILL });
      studio.light.open();
      studio.catcher.lay(null);
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
      studio.catcher.lay(
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
