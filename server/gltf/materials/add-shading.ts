import type { Document, Material } from '@gltf-transform/core';
import {
  KHRMaterialsAnisotropy,
  KHRMaterialsEmissiveStrength,
  KHRMaterialsIridescence,
  KHRMaterialsSpecular,
  KHRMaterialsVolume,
} from '@gltf-transform/extensions';
import type { LinearRgb } from '../../core/colour/srgb.ts';
import type { NormalTurn } from '../../core/delivery/uv-map.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { tidy } from './round-to-digits.ts';
import { turnInto } from './tangent-frame.ts';

export const SHADING_EXTENSIONS = [
  KHRMaterialsAnisotropy,
  KHRMaterialsEmissiveStrength,
  KHRMaterialsIridescence,
  KHRMaterialsSpecular,
  KHRMaterialsVolume,
];

/** How the part is made that the material goes on. */
interface Ground {
  /** Metres of the real thing per unit of the mesh's own space, in which glTF states thickness. */
  readonly metresPerMeshUnit: number;
  /** Direction of the finish on the part, degrees counter-clockwise. */
  readonly degrees: number;
  /** Tangent frame of the part, in which glTF states directions; without one nothing has a direction. */
  readonly frame: NormalTurn | null;
}

/** Writes what few finishes have. Nothing is written that is at its default or without effect. */
export function addShading(document: Document, material: Material, finish: ResolvedFinish, ground: Ground): void {
  addVolume(document, material, finish, ground.metresPerMeshUnit);
  addSpecular(document, material, finish);
  addAnisotropy(document, material, finish, ground);
  addIridescence(document, material, finish);
  addEmissive(document, material, finish);
}

/** Whether light is lost in a finish by its thickness. */
export function hasBody({ volume, transmission }: Pick<ResolvedFinish, 'volume' | 'transmission'>): boolean {
  return volume !== null && volume.thickness > 0 && transmission > 0;
}

/** Thickness is in the space of the mesh, the distance of attenuation in that of the scene (`KHR_materials_volume`). */
function addVolume(
  document: Document,
  material: Material,
  { volume, transmission }: ResolvedFinish,
  metresPerMeshUnit: number,
): void {
  if (!volume || !hasBody({ volume, transmission })) return;
  const written = document.createExtension(KHRMaterialsVolume).createVolume();
  written.setThicknessFactor(tidy(volume.thickness / metresPerMeshUnit));
  if (!isWhite(volume.attenuationColour)) {
    written.setAttenuationColor(toVector(volume.attenuationColour));
    written.setAttenuationDistance(tidy(volume.attenuationDistance));
  }
  material.setExtension(KHRMaterialsVolume.EXTENSION_NAME, written);
}

/** The reflection of a metal is its base colour, and this says nothing there. */
function addSpecular(document: Document, material: Material, { specular, metalness }: ResolvedFinish): void {
  if (!specular || metalness === 1 || (specular.factor === 1 && isWhite(specular.colour))) return;
  const written = document.createExtension(KHRMaterialsSpecular).createSpecular();
  written.setSpecularFactor(tidy(specular.factor)).setSpecularColorFactor(toVector(specular.colour));
  material.setExtension(KHRMaterialsSpecular.EXTENSION_NAME, written);
}

function addAnisotropy(
  document: Document,
  material: Material,
  { anisotropy }: ResolvedFinish,
  { degrees, frame }: Ground,
): void {
  if (!anisotropy || anisotropy.strength === 0 || !frame) return;
  const rotation = turnInto(frame, anisotropy.rotation + (degrees * Math.PI) / 180);
  const written = document.createExtension(KHRMaterialsAnisotropy).createAnisotropy();
  written.setAnisotropyStrength(tidy(anisotropy.strength)).setAnisotropyRotation(tidy(rotation));
  material.setExtension(KHRMaterialsAnisotropy.EXTENSION_NAME, written);
}

/** Without a thickness map the maximum is the thickness everywhere, and the validator remarks on a minimum. */
function addIridescence(document: Document, material: Material, { iridescence }: ResolvedFinish): void {
  if (!iridescence || iridescence.factor === 0) return;
  const written = document.createExtension(KHRMaterialsIridescence).createIridescence();
  written
    .setIridescenceFactor(tidy(iridescence.factor))
    .setIridescenceIOR(tidy(iridescence.ior))
    .setIridescenceThicknessMaximum(tidy(iridescence.thicknessMaxNm));
  material.setExtension(KHRMaterialsIridescence.EXTENSION_NAME, written);
}

/** What is up to 1 goes into the factor; the extension is for what is beyond, which a factor cannot hold. */
function addEmissive(document: Document, material: Material, { emissive }: ResolvedFinish): void {
  if (!emissive || emissive.strength === 0 || Math.max(...emissive.colour) === 0) return;
  const share = Math.min(1, emissive.strength);
  material.setEmissiveFactor(toVector(emissive.colour.map((channel) => channel * share)));
  if (emissive.strength <= 1) return;
  const written = document.createExtension(KHRMaterialsEmissiveStrength).createEmissiveStrength();
  material.setExtension(
    KHRMaterialsEmissiveStrength.EXTENSION_NAME,
    written.setEmissiveStrength(tidy(emissive.strength)),
  );
}

function isWhite(colour: LinearRgb): boolean {
  return colour.every((channel) => channel === 1);
}

function toVector(colour: readonly number[]): [number, number, number] {
  return colour.map(tidy) as [number, number, number];
}
