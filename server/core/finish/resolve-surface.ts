import { hexToLinear, type LinearRgb } from '../colour/srgb.ts';
import { glossFromCoat, glossFromRoughness } from '../gloss/gloss-fit.ts';
import { type GlossCase, type GlossVerdict, judgeGloss } from '../gloss/judge-gloss.ts';
import type { GlossReading, Iridescence, Surface } from './finish.ts';

/** Properties of a surface before its gloss is converted; 0–1 throughout, except the refraction index. */
type GlossGround = Omit<GlossCase, keyof GlossReading | 'roughness'> & {
  /** Roughness of surface and coat without a reading. */
  readonly roughness: number;
  readonly clearcoatRoughness: number;
};

export interface ResolvedGloss {
  readonly roughness: number;
  readonly clearcoatRoughness: number;
  /** The result of the reading; null without one. */
  readonly gloss: GlossVerdict | null;
  /** Gloss units at 60° that a meter would read; null for surfaces without such a reading. */
  readonly gu60: number | null;
}

/** Converts a gloss reading to roughness, of the coat if there is one, and computes the meter reading of the result. */
export function resolveGloss(reading: GlossReading | undefined, ground: GlossGround): ResolvedGloss {
  const gloss = reading ? judgeGloss({ ...ground, ...reading }) : null;
  const read = gloss && gloss.kind !== 'not-inverted' ? gloss : null;
  const roughness = read?.layer === 'base' ? read.roughness : ground.roughness;
  const clearcoatRoughness = read?.layer === 'clearcoat' ? read.roughness : ground.clearcoatRoughness;
  return { roughness, clearcoatRoughness, gloss, gu60: predict({ ...ground, roughness, clearcoatRoughness }) };
}

function predict(ground: GlossGround): number | null {
  // Whether such a surface has a gloss reading at all does not depend on the value.
  if (judgeGloss({ ...ground, gu60: 50 }).kind === 'not-inverted') return null;
  return ground.clearcoat > 0
    ? glossFromCoat(ground.clearcoatRoughness, 60, { ...ground, factor: ground.clearcoat })
    : glossFromRoughness(ground.roughness, 60, ground);
}

/** Rare properties, in glTF's terms: linear light, metres, radians. Null if a finish does not have them. */
export interface ResolvedShading {
  /** Null without transmission, which it needs. Lengths in real metres. */
  readonly volume: {
    readonly thickness: number;
    /** Linear RGB. */
    readonly attenuationColour: LinearRgb;
    readonly attenuationDistance: number;
  } | null;
  /** Factor 0–1; colour in linear RGB. */
  readonly specular: { readonly factor: number; readonly colour: LinearRgb } | null;
  /** Strength 0–1; rotation in radians, counter-clockwise from +U. */
  readonly anisotropy: { readonly strength: number; readonly rotation: number } | null;
  /** Factor 0–1, index of the film, thickness in nanometres as in glTF. */
  readonly iridescence: Required<Iridescence> | null;
  /** Colour in linear RGB, multiplied by `strength`. */
  readonly emissive: { readonly colour: LinearRgb; readonly strength: number } | null;
}

type Shading = Pick<Surface, 'volume' | 'specular' | 'anisotropy' | 'iridescence' | 'emissive'>;

/** Defaults of `KHR_materials_iridescence`. */
const FILM = { ior: 1.3, thicknessMinNm: 100, thicknessMaxNm: 400 } as const;

/**
 * Fills in missing properties of a finish from its article. Each is taken as a whole, and null in the finish removes
 * it.
 * @param transmission of the finish, 0–1
 */
export function resolveShading(finish: Shading, article: Shading | null, transmission: number): ResolvedShading {
  const pick = <K extends keyof Shading>(key: K): Shading[K] =>
    finish[key] !== undefined ? finish[key] : article?.[key];
  const volume = transmission > 0 ? pick('volume') : null;
  const specular = pick('specular');
  const anisotropy = pick('anisotropy');
  const iridescence = pick('iridescence');
  const emissive = pick('emissive');
  return {
    volume: volume
      ? {
          thickness: volume.thicknessMm / 1000,
          attenuationColour: hexToLinear(volume.attenuationColour),
          attenuationDistance: volume.attenuationDistanceMm / 1000,
        }
      : null,
    specular: specular
      ? { factor: specular.factor, colour: specular.colour === undefined ? [1, 1, 1] : hexToLinear(specular.colour) }
      : null,
    anisotropy: anisotropy
      ? { strength: anisotropy.strength, rotation: (anisotropy.rotationDegrees * Math.PI) / 180 }
      : null,
    iridescence: iridescence ? { ...FILM, ...iridescence } : null,
    emissive: emissive ? { colour: hexToLinear(emissive.colour), strength: emissive.strength } : null,
  };
}
