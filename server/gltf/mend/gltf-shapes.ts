import { VARIANTS } from '../document/json.ts';
import {
  choice,
  colour,
  FLAG,
  indexOf,
  listOf,
  NUMBER,
  numbers,
  type ObjectShape,
  object,
  POSITIVE,
  SHARE,
  type Shape,
  TEXT,
  WHOLE,
} from './shape.ts';

/**
 * What properties may hold, by glTF 2.0 (KhronosGroup/glTF, specification/2.0/schema) and the extensions of its registry
 * that are known here. What geometry stands on is not here (buffers, views, the layout of accessors, attributes, the tree of
 * nodes): nobody can guess it, so a model in which that is broken is refused.
 */

const TRANSFORM = object({ offset: numbers(2), rotation: NUMBER, scale: numbers(2), texCoord: WHOLE });

const texture = (fields: ObjectShape['fields'] = {}): Shape =>
  object(
    { index: indexOf('textures'), texCoord: WHOLE, ...fields },
    { needs: ['index'], extensions: { KHR_texture_transform: TRANSFORM } },
  );
const MAP = texture();
const NORMAL_MAP = texture({ scale: NUMBER });

const MATERIAL_EXTENSIONS: Readonly<Record<string, Shape>> = {
  KHR_materials_anisotropy: object({ anisotropyStrength: SHARE, anisotropyRotation: NUMBER, anisotropyTexture: MAP }),
  KHR_materials_clearcoat: object({
    clearcoatFactor: SHARE,
    clearcoatTexture: MAP,
    clearcoatRoughnessFactor: SHARE,
    clearcoatRoughnessTexture: MAP,
    clearcoatNormalTexture: NORMAL_MAP,
  }),
  KHR_materials_diffuse_transmission: object({
    diffuseTransmissionFactor: SHARE,
    diffuseTransmissionTexture: MAP,
    diffuseTransmissionColorFactor: colour(3),
    diffuseTransmissionColorTexture: MAP,
  }),
  KHR_materials_dispersion: object({ dispersion: POSITIVE }),
  KHR_materials_emissive_strength: object({ emissiveStrength: POSITIVE }),
  KHR_materials_ior: object({ ior: { is: 'number', min: 1, or: 0 } }),
  KHR_materials_iridescence: object({
    iridescenceFactor: SHARE,
    iridescenceTexture: MAP,
    iridescenceIor: { is: 'number', min: 1 },
    iridescenceThicknessMinimum: POSITIVE,
    iridescenceThicknessMaximum: POSITIVE,
    iridescenceThicknessTexture: MAP,
  }),
  KHR_materials_pbrSpecularGlossiness: object({
    diffuseFactor: colour(4),
    diffuseTexture: MAP,
    specularFactor: colour(3),
    glossinessFactor: SHARE,
    specularGlossinessTexture: MAP,
  }),
  KHR_materials_sheen: object({
    sheenColorFactor: colour(3),
    sheenColorTexture: MAP,
    sheenRoughnessFactor: SHARE,
    sheenRoughnessTexture: MAP,
  }),
  KHR_materials_specular: object({
    specularFactor: SHARE,
    specularTexture: MAP,
    specularColorFactor: { is: 'numbers', length: 3, min: 0 },
    specularColorTexture: MAP,
  }),
  KHR_materials_transmission: object({ transmissionFactor: SHARE, transmissionTexture: MAP }),
  KHR_materials_unlit: object({}),
  KHR_materials_volume: object({
    thicknessFactor: POSITIVE,
    thicknessTexture: MAP,
    attenuationDistance: { is: 'number', above: 0 },
    attenuationColor: colour(3),
  }),
};

const MATERIAL = object(
  {
    name: TEXT,
    pbrMetallicRoughness: object({
      baseColorFactor: colour(4),
      baseColorTexture: MAP,
      metallicFactor: SHARE,
      roughnessFactor: SHARE,
      metallicRoughnessTexture: MAP,
    }),
    normalTexture: NORMAL_MAP,
    occlusionTexture: texture({ strength: SHARE }),
    emissiveTexture: MAP,
    emissiveFactor: colour(3),
    alphaMode: choice('OPAQUE', 'MASK', 'BLEND'),
    alphaCutoff: POSITIVE,
    doubleSided: FLAG,
  },
  { extensions: MATERIAL_EXTENSIONS },
);

const IMAGE_SOURCE = object({ source: indexOf('images') }, { needs: ['source'] });

const TEXTURE = object(
  { name: TEXT, source: indexOf('images'), sampler: indexOf('samplers') },
  { extensions: { EXT_texture_avif: IMAGE_SOURCE, EXT_texture_webp: IMAGE_SOURCE, KHR_texture_basisu: IMAGE_SOURCE } },
);

const WRAP = choice(33071, 33648, 10497);

const NODE = object(
  {
    name: TEXT,
    camera: indexOf('cameras'),
    skin: indexOf('skins'),
    matrix: numbers(16),
    translation: numbers(3),
    rotation: numbers(4),
    scale: numbers(3),
    weights: numbers(),
  },
  {
    extensions: {
      EXT_mesh_gpu_instancing: object(
        { attributes: { is: 'map', of: indexOf('accessors') } },
        { needs: ['attributes'] },
      ),
      KHR_lights_punctual: object({ light: indexOf('lights') }, { needs: ['light'] }),
      KHR_node_visibility: object({ visible: FLAG }),
    },
  },
);

export const PRIMITIVE = object(
  {},
  {
    extensions: {
      KHR_draco_mesh_compression: object(
        { bufferView: indexOf('bufferViews'), attributes: { is: 'map', of: WHOLE } },
        { needs: ['bufferView', 'attributes'] },
      ),
      [VARIANTS]: object(
        {
          mappings: {
            is: 'list',
            of: object(
              {
                material: indexOf('materials'),
                variants: { is: 'list', of: indexOf('variants'), filled: true },
                name: TEXT,
              },
              { needs: ['material', 'variants'] },
            ),
            filled: true,
          },
        },
        { needs: ['mappings'] },
      ),
    },
  },
);

const CHANNEL = object(
  {
    sampler: WHOLE,
    target: object(
      { node: indexOf('nodes'), path: choice('translation', 'rotation', 'scale', 'weights', 'pointer') },
      {
        needs: ['path'],
        extensions: { KHR_animation_pointer: object({ pointer: TEXT }, { needs: ['pointer'] }) },
      },
    ),
  },
  { needs: ['sampler', 'target'] },
);

const LIGHT = object(
  {
    name: TEXT,
    color: colour(3),
    intensity: POSITIVE,
    range: { is: 'number', above: 0 },
    type: choice('directional', 'point', 'spot'),
    spot: object({
      innerConeAngle: { is: 'number', min: 0, max: Math.PI / 2 },
      outerConeAngle: { is: 'number', above: 0, max: Math.PI / 2 },
    }),
  },
  { needs: ['type'] },
);

/** Objects by the array they stand in; each keeps its place, whatever is left out of it (animations: `mendAnimations`). */
export const OBJECTS: Readonly<Record<string, ObjectShape>> = {
  accessors: object({ name: TEXT, normalized: FLAG, min: numbers(), max: numbers() }),
  animations: object({ name: TEXT, channels: listOf(CHANNEL) }),
  bufferViews: object({ name: TEXT, target: choice(34962, 34963) }),
  buffers: object({ name: TEXT }),
  cameras: object({
    name: TEXT,
    type: choice('perspective', 'orthographic'),
    perspective: object({
      aspectRatio: { is: 'number', above: 0 },
      yfov: { is: 'number', above: 0 },
      zfar: { is: 'number', above: 0 },
      znear: { is: 'number', above: 0 },
    }),
    orthographic: object({ xmag: NUMBER, ymag: NUMBER, zfar: { is: 'number', above: 0 }, znear: POSITIVE }),
  }),
  images: object({ name: TEXT, mimeType: TEXT }),
  materials: MATERIAL,
  meshes: object({ name: TEXT, weights: numbers() }),
  nodes: NODE,
  samplers: object({
    name: TEXT,
    magFilter: choice(9728, 9729),
    minFilter: choice(9728, 9729, 9984, 9985, 9986, 9987),
    wrapS: WRAP,
    wrapT: WRAP,
  }),
  scenes: object({ name: TEXT }),
  skins: object({ name: TEXT, inverseBindMatrices: indexOf('accessors'), skeleton: indexOf('nodes') }),
  textures: TEXTURE,
};

/** The document itself, as far as it is no array of objects. */
export const ROOT = object(
  { asset: object({ generator: TEXT, copyright: TEXT }), scene: indexOf('scenes') },
  {
    extensions: {
      KHR_lights_punctual: object({ lights: { is: 'list', of: LIGHT, keeps: true } }),
      [VARIANTS]: object({ variants: { is: 'list', of: object({ name: TEXT }), keeps: true } }),
    },
  },
);
