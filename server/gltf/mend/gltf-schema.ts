import { VARIANTS } from '../document/json.ts';

/** Arrays of a document that indices point into; lights and variants are in their extensions. */
export type Target =
  | 'accessors'
  | 'bufferViews'
  | 'cameras'
  | 'images'
  | 'lights'
  | 'materials'
  | 'nodes'
  | 'samplers'
  | 'scenes'
  | 'skins'
  | 'textures'
  | 'variants';

/**
 * The values that glTF allows for a property. Another value is corrected where its meaning is plain (a number written as
 * text, a number beyond its range) and removed otherwise, so that the default of the standard applies.
 */
export type Schema =
  /** Finite in single precision. `above` is an exclusive bound, `or` a value that is allowed outside the range. */
  | {
      readonly is: 'number';
      readonly min?: number;
      readonly max?: number;
      readonly above?: number;
      readonly or?: number;
    }
  | { readonly is: 'whole' }
  /** A list of numbers; of any length without one. */
  | { readonly is: 'numbers'; readonly length?: number; readonly min?: number; readonly max?: number }
  | { readonly is: 'flag' }
  | { readonly is: 'text' }
  | { readonly is: 'choice'; readonly of: readonly (string | number)[] }
  | { readonly is: 'index'; readonly of: Target }
  /** Items that cannot be corrected are removed, or stay in place where indices point into the list (`keeps`). */
  | { readonly is: 'list'; readonly of: Schema; readonly filled?: boolean; readonly keeps?: boolean }
  /** Names with values of one schema, at least one. */
  | { readonly is: 'map'; readonly of: Schema }
  | ObjectSchema;

export interface ObjectSchema {
  readonly is: 'object';
  readonly fields: Readonly<Record<string, Schema>>;
  /** An object without one of these is removed. */
  readonly needs?: readonly string[];
  /** Known extensions that it may have. */
  readonly extensions?: Readonly<Record<string, Schema>>;
}

const FLAG: Schema = { is: 'flag' };
const TEXT: Schema = { is: 'text' };
const WHOLE: Schema = { is: 'whole' };
const NUMBER: Schema = { is: 'number' };
const POSITIVE: Schema = { is: 'number', min: 0 };
/** 0 to 1. */
const SHARE: Schema = { is: 'number', min: 0, max: 1 };

const numbers = (length?: number): Schema => ({ is: 'numbers', ...(length !== undefined && { length }) });
/** Linear colour, each channel 0 to 1. */
const colour = (length: 3 | 4): Schema => ({ is: 'numbers', length, min: 0, max: 1 });
const choice = (...of: (string | number)[]): Schema => ({ is: 'choice', of });
const indexOf = (of: Target): Schema => ({ is: 'index', of });
const listOf = (of: Schema): Schema => ({ is: 'list', of });

function object(fields: ObjectSchema['fields'], more: Pick<ObjectSchema, 'needs' | 'extensions'> = {}): ObjectSchema {
  return { is: 'object', fields, ...more };
}

/*
 * The schemas follow glTF 2.0 (KhronosGroup/glTF, specification/2.0/schema) and the extensions of its registry that this
 * code knows. Buffers, views, the layout of accessors, attributes and the tree of nodes are not here: their meaning
 * cannot be guessed, so a model in which they are broken is refused.
 */

const TRANSFORM = object({ offset: numbers(2), rotation: NUMBER, scale: numbers(2), texCoord: WHOLE });

const texture = (fields: ObjectSchema['fields'] = {}): Schema =>
  object(
    { index: indexOf('textures'), texCoord: WHOLE, ...fields },
    { needs: ['index'], extensions: { KHR_texture_transform: TRANSFORM } },
  );
const MAP = texture();
const NORMAL_MAP = texture({ scale: NUMBER });

const MATERIAL_EXTENSIONS: Readonly<Record<string, Schema>> = {
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

export const PRIMITIVE_SCHEMA = object(
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

/** Schemas of objects by their array. Objects keep their index, whatever is removed from them (except animations, see `mendAnimations`). */
export const OBJECT_SCHEMAS: Readonly<Record<string, ObjectSchema>> = {
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

/** The document itself, without its arrays of objects. */
export const ROOT_SCHEMA = object(
  { asset: object({ generator: TEXT, copyright: TEXT }), scene: indexOf('scenes') },
  {
    extensions: {
      KHR_lights_punctual: object({ lights: { is: 'list', of: LIGHT, keeps: true } }),
      [VARIANTS]: object({ variants: { is: 'list', of: object({ name: TEXT }), keeps: true } }),
    },
  },
);
