import type { LinearRgb } from '../../server/core/colour/srgb.ts';
import { repeatTransform, turnOf, UVS_IN_METRES } from '../../server/core/delivery/repeat-transform.ts';
import { findMapFactor, type ResolvedFinish } from '../../server/core/finish/resolve-finish.ts';

/** Where to load the image of a map. */
export interface MapImage {
  /** An absolute URL, because the document has none of its own. */
  readonly uri: string;
  readonly mimeType: string;
}

/**
 * Finds the image of a map; undefined if it is not known yet, and the map is then omitted.
 * @param contrast of a re-encoded colour map (`levelMap`); null for the uploaded image
 */
export type FindImage = (sha256: string, contrast: number | null) => MapImage | undefined;

type Json = Record<string, unknown>;

interface FinishDocument {
  readonly asset: { readonly version: '2.0' };
  readonly extensionsUsed: readonly string[];
  readonly materials: readonly [Json];
  readonly textures?: readonly Json[];
  readonly images?: readonly MapImage[];
}

/**
 * A finish as a glTF document that contains only its material, for UVs in metres such as those of the swatch sphere. It
 * equals the delivered material, so a finish can be shown before it is stored; a test compares it with the writer of
 * deliveries. It does not handle supplied materials, which are files of their own.
 *
 * The roughness map of a metal must affect only roughness. Deliveries fill its blue channel, which is metalness in
 * glTF. Here the code that loads the document must ignore that channel.
 */
export function writeFinishDocument(finish: ResolvedFinish, findImage: FindImage): FinishDocument {
  const images: MapImage[] = [];
  const textures: Json[] = [];

  function addTexture(sha256: string | undefined, contrast: number | null = null): Json | undefined {
    const image = sha256 === undefined ? undefined : findImage(sha256, contrast);
    if (!image || !finish.tile) return undefined;
    const source = images.push(image) - 1;
    const extension = TEXTURE_EXTENSIONS[image.mimeType];
    textures.push(extension ? { extensions: { [extension]: { source } } } : { source });
    return {
      index: textures.length - 1,
      extensions: { KHR_texture_transform: repeatTransform(finish.tile, UVS_IN_METRES, 0) },
    };
  }

  const { colour, normal, roughness } = finish.maps;
  const colourTexture = addTexture(colour, finish.levelled?.contrast);
  const normalTexture = addTexture(normal);
  const roughnessTexture = addTexture(roughness);
  const extensions = { ...listLayers(finish), ...listShading(finish, normalTexture !== undefined) };
  const glow = Math.min(1, finish.emissive?.strength ?? 0);
  const material = {
    name: finish.name,
    pbrMetallicRoughness: {
      baseColorFactor: [...(colourTexture ? findMapFactor(finish) : finish.baseColour), 1],
      metallicFactor: finish.metalness,
      roughnessFactor: finish.roughness,
      ...(colourTexture && { baseColorTexture: colourTexture }),
      ...(roughnessTexture && { metallicRoughnessTexture: roughnessTexture }),
    },
    ...(normalTexture && { normalTexture }),
    ...(glow > 0 && { emissiveFactor: finish.emissive!.colour.map((channel) => channel * glow) }),
    extensions,
  };
  const ofTextures = images.flatMap(({ mimeType }) =>
    ['KHR_texture_transform', TEXTURE_EXTENSIONS[mimeType] ?? []].flat(),
  );
  return {
    asset: { version: '2.0' },
    extensionsUsed: [...new Set([...Object.keys(extensions), ...ofTextures])],
    materials: [material],
    ...(images.length > 0 && { textures, images }),
  };
}

/** Image types that need an extension of the texture. */
const TEXTURE_EXTENSIONS: Readonly<Record<string, string>> = {
  'image/webp': 'EXT_texture_webp',
  'image/ktx2': 'KHR_texture_basisu',
};

/** Refraction index that glTF assumes when none is written. */
const DEFAULT_IOR = 1.5;

function listLayers(finish: ResolvedFinish): Json {
  const { clearcoat, sheen, transmission, ior, metalness } = finish;
  return {
    ...(clearcoat > 0 && {
      KHR_materials_clearcoat: {
        clearcoatFactor: clearcoat,
        clearcoatRoughnessFactor: finish.clearcoatRoughness,
      },
    }),
    ...(sheen &&
      Math.max(...sheen.colour) > 0 && {
        KHR_materials_sheen: { sheenColorFactor: sheen.colour, sheenRoughnessFactor: sheen.roughness },
      }),
    ...(transmission > 0 && { KHR_materials_transmission: { transmissionFactor: transmission } }),
    ...(ior !== DEFAULT_IOR && metalness === 0 && { KHR_materials_ior: { ior } }),
  };
}

/**
 * Properties that few finishes have, omitting those without effect.
 * @param framed whether there is a normal map: it defines the tangent frame, in which directions are stated, and turns
 * it
 */
function listShading(finish: ResolvedFinish, framed: boolean): Json {
  const { volume, specular, anisotropy, iridescence, emissive, tile } = finish;
  const uvTurn = tile && !framed ? (turnOf(tile, UVS_IN_METRES, 0) * Math.PI) / 180 : 0;
  const turn = ((anisotropy?.rotation ?? 0) + uvTurn) % (2 * Math.PI);
  return {
    ...(volume &&
      volume.thickness > 0 && {
        KHR_materials_volume: {
          thicknessFactor: volume.thickness,
          ...(!isWhite(volume.attenuationColour) && {
            attenuationColor: volume.attenuationColour,
            attenuationDistance: volume.attenuationDistance,
          }),
        },
      }),
    ...(specular &&
      finish.metalness === 0 &&
      !(specular.factor === 1 && isWhite(specular.colour)) && {
        KHR_materials_specular: { specularFactor: specular.factor, specularColorFactor: specular.colour },
      }),
    ...(anisotropy &&
      anisotropy.strength > 0 && {
        KHR_materials_anisotropy: {
          anisotropyStrength: anisotropy.strength,
          anisotropyRotation: turn < 0 ? turn + 2 * Math.PI : turn,
        },
      }),
    ...(iridescence &&
      iridescence.factor > 0 && {
        KHR_materials_iridescence: {
          iridescenceFactor: iridescence.factor,
          iridescenceIor: iridescence.ior,
          iridescenceThicknessMaximum: iridescence.thicknessMaxNm,
        },
      }),
    ...(emissive &&
      emissive.strength > 1 &&
      Math.max(...emissive.colour) > 0 && {
        KHR_materials_emissive_strength: { emissiveStrength: emissive.strength },
      }),
  };
}

function isWhite(colour: LinearRgb): boolean {
  return colour.every((channel) => channel === 1);
}
