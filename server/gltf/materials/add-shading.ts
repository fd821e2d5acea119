import type { Document, Material } from '@gltf-transform/core';
import {
  KHRMaterialsAnisotropy,
  KHRMaterialsEmissiveStrength,
  KHRMaterialsIridescence,
  KHRMaterialsSpecular,
  KHRMaterialsVolume,
} from '@gltf-transform/extensions';
import type { LinearRgb } from '../../core/colour/srgb.ts';
import type { NormalTurn } from '../../core/delivery/repeat-transform.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { hasVolume, roundToDigits } from './material-spec.ts';
import { turnInto } from './tangent-frame.ts';

export const SHADING_EXTENSIONS = [
  KHRMaterialsAnisotropy,
  KHRMaterialsEmissiveStrength,
  KHRMaterialsIridescence,
  KHRMaterialsSpecular,
  KHRMaterialsVolume,
];

/** What the extensions need to know of the part. */
interface PartGeometry {
  /** Real metres per unit of the mesh's own space, which is the unit of a thickness in glTF. */
  readonly metresPerMeshUnit: number;
  /** Direction of the finish on the part, degrees counter-clockwise. */
  readonly degrees: number;
  /** Tangent frame of the part, in which glTF states directions; null where it has none. */
  readonly frame: NormalTurn | null;
}

/** Adds the extensions that few finishes need. Leaves out values that are at their default or have no effect. */
export function addShading(
  document: Document,
  material: Material,
  finish: ResolvedFinish,
  geometry: PartGeometry,
): void {
  addVolume(document, material, finish, geometry.metresPerMeshUnit);
  addSpecular(document, material, finish);
  addAnisotropy(document, material, finish, geometry);
  addIridescence(document, material, finish);
  addEmissive(document, material, finish);
}

/** `KHR_materials_volume` states thickness in units of the mesh, and attenuation distance in units of the scene. */
function addVolume(
  document: Document,
  material: Material,
  { volume, transmission }: ResolvedFinish,
  metresPerMeshUnit: number,
): void {
  if (!volume || !hasVolume({ volume, transmission })) return;
  const written = document.createExtension(KHRMaterialsVolume).createVolume();
  written.setThicknessFactor(roundToDigits(volume.thickness / metresPerMeshUnit));
  if (!isWhite(volume.attenuationColour)) {
    written.setAttenuationColor(toVector(volume.attenuationColour));
    written.setAttenuationDistance(roundToDigits(volume.attenuationDistance));
  }
  material.setExtension(KHRMaterialsVolume.EXTENSION_NAME, written);
}

/** A metal reflects its base colour, so this extension has no effect on it. */
function addSpecular(document: Document, material: Material, { specular, metalness }: ResolvedFinish): void {
  if (!specular || metalness === 1 || (specular.factor === 1 && isWhite(specular.colour))) return;
  const written = document.createExtension(KHRMaterialsSpecular).createSpecular();
  written.setSpecularFactor(roundToDigits(specular.factor)).setSpecularColorFactor(toVector(specular.colour));
  material.setExtension(KHRMaterialsSpecular.EXTENSION_NAME, written);
}

function addAnisotropy(
  document: Document,
  material: Material,
  { anisotropy }: ResolvedFinish,
  { degrees, frame }: PartGeometry,
): void {
  if (!anisotropy || anisotropy.strength === 0 || !frame) return;
  const rotation = turnInto(frame, anisotropy.rotation + (degrees * Math.PI) / 180);
  const written = document.createExtension(KHRMaterialsAnisotropy).createAnisotropy();
  written.setAnisotropyStrength(roundToDigits(anisotropy.strength)).setAnisotropyRotation(roundToDigits(rotation));
  material.setExtension(KHRMaterialsAnisotropy.EXTENSION_NAME, written);
}

/** Without a thickness map the maximum applies everywhere. A minimum would make the validator warn. */
function addIridescence(document: Document, material: Material, { iridescence }: ResolvedFinish): void {
  if (!iridescence || iridescence.factor === 0) return;
  const written = document.createExtension(KHRMaterialsIridescence).createIridescence();
  written
    .setIridescenceFactor(roundToDigits(iridescence.factor))
    .setIridescenceIOR(roundToDigits(iridescence.ior))
    .setIridescenceThicknessMaximum(roundToDigits(iridescence.thicknessMaxNm));
  material.setExtension(KHRMaterialsIridescence.EXTENSION_NAME, written);
}

/** The factor holds a strength of up to 1; the extension holds the rest. */
function addEmissive(document: Document, material: Material, { emissive }: ResolvedFinish): void {
  if (!emissive || emissive.strength === 0 || Math.max(...emissive.colour) === 0) return;
  const share = Math.min(1, emissive.strength);
  material.setEmissiveFactor(toVector(emissive.colour.map((channel) => channel * share)));
  if (emissive.strength <= 1) return;
  const written = document.createExtension(KHRMaterialsEmissiveStrength).createEmissiveStrength();
  material.setExtension(
    KHRMaterialsEmissiveStrength.EXTENSION_NAME,
    written.setEmissiveStrength(roundToDigits(emissive.strength)),
  );
}

function isWhite(colour: LinearRgb): boolean {
  return colour.every((channel) => channel === 1);
}

function toVector(colour: readonly number[]): [number, number, number] {
  return colour.map(roundToDigits) as [number, number, number];
}
