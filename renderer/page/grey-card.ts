import { Color, LinearSRGBColorSpace, MathUtils, Mesh, MeshStandardMaterial, PlaneGeometry, Vector3 } from 'three';
import { decodeSrgb } from '../../server/core/colour/srgb.ts';
import { invertToneMapping } from '../../server/core/picture/invert-tone-mapping.ts';
import type { Rig, StudioScene } from './studio-scene.ts';

/**
 * Reflectance of the card, linear: the photographer's 18 %. It is a dielectric (index 1.5) with roughness 1, square to
 * the camera and unshaded, like the card that a photographer holds in place of the product.
 */
const GREY_CARD = 0.18;

const CARD_PX = 16;

const untoneGrey = (shown: number) => invertToneMapping([shown, shown, shown])[0];

/**
 * Finds the exposure of a rig at which the card shows its own value after the tone curve: 0.18 linear, level 118 of 255. The
 * card goes through the same shader, target and averaging as every picture. Returns the exposure.
 */
export function calibrate(studio: StudioScene, rig: Rig): number {
  const wanted = untoneGrey(GREY_CARD);
  const even = studio.lightEvenly(false);
  // The first round finds the range, the second is exact, and the third confirms it.
  for (let round = 0; round < 3; round++) {
    const shown = shootCard(studio, rig);
    studio.expose(studio.renderer.toneMappingExposure * (wanted / untoneGrey(shown)));
  }
  const exposure = studio.renderer.toneMappingExposure;
  studio.lightEvenly(even);
  return exposure;
}

/** Linear value of the card in a rig after the tone curve, at the current exposure. */
export function shootCard(studio: StudioScene, rig: Rig): number {
  const material = new MeshStandardMaterial({ roughness: 1, metalness: 0 });
  material.color = new Color().setRGB(GREY_CARD, GREY_CARD, GREY_CARD, LinearSRGBColorSpace);
  const geometry = new PlaneGeometry(1, 1);
  const card = new Mesh(geometry, material);
  card.rotation.x = -MathUtils.degToRad(rig.elevationDegrees);
  studio.prepare(material);
  studio.setSize(CARD_PX, CARD_PX);
  // A quarter of the card fills the frame.
  const corners = [new Vector3(-0.25, -0.25, 0), new Vector3(0.25, 0.25, 0)];
  const points = new Float32Array(corners.flatMap((corner) => corner.applyEuler(card.rotation).toArray()));
  studio.useRig(rig);
  studio.turntable.rotation.y = 0;
  studio.frame({ points, elevationDegrees: rig.elevationDegrees, widthPx: 1, heightPx: 1, fill: 1 });
  studio.light.open();
  studio.catcher.place(null);
  studio.show([card]);
  studio.accumulator.reset();
  studio.addSubsample(0);
  const pixels = studio.accumulator.readFloat();
  studio.show([]);
  geometry.dispose();
  material.dispose();
  const middle = ((CARD_PX / 2) * CARD_PX + CARD_PX / 2) * 4;
  return decodeSrgb(pixels[middle]!);
}
