import {
  type BufferGeometry,
  Color,
  DoubleSide,
  LinearSRGBColorSpace,
  type Material,
  MeshBasicMaterial,
  MeshPhysicalMaterial,
  MeshStandardMaterial,
  Vector2,
} from 'three';
import { asNumber, asNumbers, asObject, asText, type GltfDocument, getExtension, type Json } from './gltf-document.ts';
import type { Loan, TextureStore } from './texture-store.ts';

/** The properties of a material that depend on its geometry. */
export interface Fit {
  /** Vertex colours tint it. */
  readonly tinted: boolean;
  /** It has no normals, so facets are flat. */
  readonly faceted: boolean;
  /** It has no tangents. They are made from UVs, whose v grows downwards. */
  readonly untangented: boolean;
}

/** @param tinted whether vertex colours are wanted */
export function toFit(geometry: BufferGeometry, tinted: boolean): Fit {
  return {
    tinted: tinted && geometry.hasAttribute('color'),
    faceted: !geometry.hasAttribute('normal'),
    untangented: !geometry.hasAttribute('tangent'),
  };
}

export interface MadeMaterial {
  readonly material: Material;
  /** Its borrowed textures. */
  readonly loans: readonly Loan[];
}

/** Maps the fields of an extension to properties of three's physical material. */
type Row = readonly [field: string, property: string];

interface Layer {
  readonly numbers?: readonly Row[];
  readonly colours?: readonly Row[];
  readonly maps?: readonly Row[];
  readonly colourMaps?: readonly Row[];
  /** Defaults when the extension is present. */
  readonly defaults?: Readonly<Record<string, unknown>>;
}

/** The extensions that make a material physical. Missing fields keep three's values, which are glTF's defaults. */
const LAYERS: Readonly<Record<string, Layer>> = {
  KHR_materials_clearcoat: {
    numbers: [
      ['clearcoatFactor', 'clearcoat'],
      ['clearcoatRoughnessFactor', 'clearcoatRoughness'],
    ],
    maps: [
      ['clearcoatTexture', 'clearcoatMap'],
      ['clearcoatRoughnessTexture', 'clearcoatRoughnessMap'],
      ['clearcoatNormalTexture', 'clearcoatNormalMap'],
    ],
  },
  KHR_materials_diffuse_roughness: {
    numbers: [['diffuseRoughnessFactor', 'diffuseRoughness']],
    maps: [['diffuseRoughnessTexture', 'diffuseRoughnessMap']],
  },
  KHR_materials_dispersion: { numbers: [['dispersion', 'dispersion']] },
  KHR_materials_iridescence: {
    numbers: [
      ['iridescenceFactor', 'iridescence'],
      ['iridescenceIor', 'iridescenceIOR'],
      ['iridescenceThicknessMinimum', 'iridescenceThicknessMinimum'],
      ['iridescenceThicknessMaximum', 'iridescenceThicknessMaximum'],
    ],
    maps: [
      ['iridescenceTexture', 'iridescenceMap'],
      ['iridescenceThicknessTexture', 'iridescenceThicknessMap'],
    ],
  },
  KHR_materials_sheen: {
    defaults: { sheen: 1, sheenRoughness: 0 },
    numbers: [['sheenRoughnessFactor', 'sheenRoughness']],
    colours: [['sheenColorFactor', 'sheenColor']],
    maps: [['sheenRoughnessTexture', 'sheenRoughnessMap']],
    colourMaps: [['sheenColorTexture', 'sheenColorMap']],
  },
  KHR_materials_transmission: {
    numbers: [['transmissionFactor', 'transmission']],
    maps: [['transmissionTexture', 'transmissionMap']],
  },
  KHR_materials_volume: {
    numbers: [['thicknessFactor', 'thickness']],
    colours: [['attenuationColor', 'attenuationColor']],
    maps: [['thicknessTexture', 'thicknessMap']],
  },
  KHR_materials_ior: {},
  KHR_materials_specular: {
    numbers: [['specularFactor', 'specularIntensity']],
    colours: [['specularColorFactor', 'specularColor']],
    maps: [['specularTexture', 'specularIntensityMap']],
    colourMaps: [['specularColorTexture', 'specularColorMap']],
  },
  EXT_materials_bump: {
    numbers: [['bumpFactor', 'bumpScale']],
    maps: [['bumpTexture', 'bumpMap']],
  },
  KHR_materials_anisotropy: {
    numbers: [
      ['anisotropyStrength', 'anisotropy'],
      ['anisotropyRotation', 'anisotropyRotation'],
    ],
    maps: [['anisotropyTexture', 'anisotropyMap']],
  },
};

/**
 * Makes three's material from one of glTF. Missing and wrong values get glTF's default. It omits textures that cannot
 * be shown.
 */
export async function makeMaterial(
  document: GltfDocument,
  json: Json,
  textures: TextureStore,
  fit: Fit,
): Promise<MadeMaterial> {
  const values: Record<string, unknown> = {};
  const loans: Promise<readonly [property: string, loan: Loan | null]>[] = [];
  const setTexture = (property: string, use: unknown, colour = false) => {
    if (use !== undefined) loans.push(textures.lend(use, colour).then((loan) => [property, loan] as const));
  };

  const isUnlit = getExtension(json, 'KHR_materials_unlit') !== undefined;
  const layers = isUnlit
    ? []
    : Object.keys(LAYERS).filter((name) => getExtension(json, name) && isDrawn(document, name));
  const pbr = asObject(json.pbrMetallicRoughness);
  const [red, green, blue, alpha] = asNumbers(pbr.baseColorFactor, 4) ?? [1, 1, 1, 1];
  values.color = toColour([red!, green!, blue!]);
  values.opacity = alpha;
  setTexture('map', pbr.baseColorTexture, true);
  if (!isUnlit) {
    values.metalness = asNumber(pbr.metallicFactor) ?? 1;
    values.roughness = asNumber(pbr.roughnessFactor) ?? 1;
    setTexture('metalnessMap', pbr.metallicRoughnessTexture);
    setTexture('roughnessMap', pbr.metallicRoughnessTexture);
    readRelief(json, values, setTexture, fit);
    for (const name of layers) readLayer(getExtension(json, name)!, LAYERS[name]!, values, setTexture);
    readOddities(json, values, fit);
  }
  if (json.doubleSided === true) values.side = DoubleSide;
  // Blended parts write no depth, so that parts behind them show in any drawing order.
  if (json.alphaMode === 'BLEND') Object.assign(values, { transparent: true, depthWrite: false });
  if (json.alphaMode === 'MASK') values.alphaTest = asNumber(json.alphaCutoff) ?? 0.5;
  if (fit.tinted) values.vertexColors = true;

  const lent: Loan[] = [];
  for (const [property, loan] of await Promise.all(loans)) {
    if (!loan) continue;
    values[property] = loan.texture;
    lent.push(loan);
  }
  const Kind = isUnlit ? MeshBasicMaterial : layers.length > 0 ? MeshPhysicalMaterial : MeshStandardMaterial;
  const material = new Kind(values);
  if (fit.faceted && !isUnlit) (material as MeshStandardMaterial).flatShading = true;
  material.name = asText(json.name);
  return { material, loans: lent };
}

/** Pictures are planned by the declared extensions, so an undeclared transmission lets no light through. */
function isDrawn(document: GltfDocument, name: string): boolean {
  return name !== 'KHR_materials_transmission' || document.declares(name);
}

type Values = Record<string, unknown>;
type SetTexture = (property: string, use: unknown, colour?: boolean) => void;

function readRelief(json: Json, values: Values, setTexture: SetTexture, fit: Fit): void {
  if (json.normalTexture !== undefined) {
    setTexture('normalMap', json.normalTexture);
    values.normalScale = toScale(asObject(json.normalTexture), fit);
  }
  if (json.occlusionTexture !== undefined) {
    setTexture('aoMap', json.occlusionTexture);
    values.aoMapIntensity = asNumber(asObject(json.occlusionTexture).strength) ?? 1;
  }
  const glow = asNumbers(json.emissiveFactor, 3);
  if (glow) values.emissive = toColour(glow);
  setTexture('emissiveMap', json.emissiveTexture, true);
  const strength = asNumber(getExtension(json, 'KHR_materials_emissive_strength')?.emissiveStrength);
  if (strength !== undefined) values.emissiveIntensity = strength;
}

function readLayer(extension: Json, layer: Layer, values: Values, setTexture: SetTexture): void {
  const { numbers = [], colours = [], maps = [], colourMaps = [], defaults = {} } = layer;
  Object.assign(values, defaults);
  for (const [field, property] of numbers) {
    const value = asNumber(extension[field]);
    if (value !== undefined) values[property] = value;
  }
  for (const [field, property] of colours) {
    const value = asNumbers(extension[field], 3);
    if (value) values[property] = toColour(value);
  }
  for (const [field, property] of maps) setTexture(property, extension[field]);
  for (const [field, property] of colourMaps) setTexture(property, extension[field], true);
}

/** Properties that the table cannot express. */
function readOddities(json: Json, values: Values, fit: Fit): void {
  const coat = getExtension(json, 'KHR_materials_clearcoat');
  if (coat) values.clearcoatNormalScale = toScale(asObject(coat.clearcoatNormalTexture), fit);
  const ior = asNumber(getExtension(json, 'KHR_materials_ior')?.ior);
  // 0 means a surface that reflects all light it does not absorb. three needs a number for it.
  if (ior === 0) values.ior = 1000;
  else if (ior !== undefined && ior >= 1) values.ior = ior;
  const distance = asNumber(getExtension(json, 'KHR_materials_volume')?.attenuationDistance);
  if (distance !== undefined && distance > 0) values.attenuationDistance = distance;
}

/** Tangents that three makes from UVs point down the map; those of glTF point up. */
function toScale({ scale }: Json, { untangented }: Fit): Vector2 {
  const both = asNumber(scale) ?? 1;
  return new Vector2(both, untangented ? -both : both);
}

function toColour([red, green, blue]: readonly number[]): Color {
  return new Color().setRGB(red!, green!, blue!, LinearSRGBColorSpace);
}
