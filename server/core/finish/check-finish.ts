import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { decodeSrgb, encodeSrgb, luminance } from '../colour/srgb.ts';
import { type Finding, makeFinding, type Severity } from '../product/finding.ts';
import type { Article, Family, Finish, Surface } from './finish.ts';
import { findMetal, METAL_SOURCES } from './metals.ts';
import type { ResolvedFinish } from './resolve-finish.ts';
import { transmittance } from './transmittance.ts';

/**
 * Luminance of non-metals as 8-bit sRGB codes. Dark end: 30 tolerant, 50 strict (Filament, material guide; charcoal is 30
 * in the Khronos 3D Commerce Asset Creation Guidelines v1.0.0). Bright end: 240 strict (Filament), 243 tolerant, which is
 * fresh snow in the Khronos guidelines.
 */
export const ALBEDO_CODES = { tolerant: [30, 243], strict: [50, 240] } as const;

/** Luminance of bare metals is at or above 170 as an 8-bit sRGB code (Filament, material guide: 170–255); 0.40 linear. */
export const METAL_LUMINANCE = decodeSrgb(170 / 255);

/**
 * Index of glasses: fused silica has 1.458 at 587.6 nm (Malitson 1965, in refractiveindex.info), the densest flints about 1.95
 * (a glass maker's guide to optical glass); window glass has 1.52 (`KHR_materials_ior`).
 */
const GLASS_IOR = [1.45, 1.95] as const;

/** ΔE00 to the table's metal up to which nobody remarks on it: the common tolerance of `tolerances.ts`. */
const METAL_DISTANCE = 2;

/** Families in which a coat of lacquer over the surface is out of the ordinary. */
const UNCOATED: ReadonlySet<Family> = new Set(['textile']);
/** Families a lamp may shine out of. */
const SHINING: ReadonlySet<Family> = new Set(['glass', 'plastic']);

/**
 * Whether a finish could be of this world: each remark with what was seen, what is usual and what to do. Not for finishes
 * with a supplied material, which is delivered as it came: none is made for them.
 * @param resolved the same finish, resolved with the same article
 */
export function checkFinish(finish: Finish, resolved: ResolvedFinish, article: Article | null): Finding[] {
  if (finish.supplied) return [];
  return [
    ...(resolved.metalness === 1 ? checkMetal(finish, resolved, article) : checkAlbedo(finish, resolved)),
    ...checkLayers(finish, resolved),
    ...checkBody(finish, resolved, article),
    ...checkLight(finish, resolved),
  ];
}

/** A colour that comes from a map is not known before the map is measured; white stands for it meanwhile. */
function isColourKnown({ colourFrom, levelled }: ResolvedFinish): boolean {
  return colourFrom === 'specification' || levelled !== null;
}

/**
 * ΔE00 between a finish's colour and the metal it names; null when it names none of the table. Colours of metals are
 * reflectances at normal incidence on both sides.
 */
export function findMetalDistance(
  finish: Pick<Surface, 'metalName'>,
  resolved: Pick<ResolvedFinish, 'baseColour'>,
  article: Pick<Surface, 'metalName'> | null,
): number | null {
  const name = finish.metalName ?? article?.metalName;
  const metal = name === undefined ? undefined : findMetal(name);
  return metal ? deltaE2000(linearToLab(resolved.baseColour), linearToLab(metal.f0)) : null;
}

/** What passes through is no albedo: the colour of clear materials is a filter, and may be anything. */
function checkAlbedo(finish: Finish, resolved: ResolvedFinish): Finding[] {
  const { baseColour, transmission } = resolved;
  if (transmission > 0 || !isColourKnown(resolved)) return [];
  const code = Math.round(encodeSrgb(Math.min(1, Math.max(0, luminance(baseColour)))) * 255);
  const { tolerant, strict } = ALBEDO_CODES;
  if (code >= strict[0] && code <= strict[1]) return [];
  const severity: Severity = code >= tolerant[0] && code <= tolerant[1] ? 'note' : 'warning';
  const dark = code < strict[0];
  return [
    remark(
      'albedo-implausible',
      finish,
      `The colour of ${finish.finish} has the brightness of sRGB ${code}. Materials that are not metal lie between ${strict[0]} and ${strict[1]}, at the outside between ${tolerant[0]} and ${tolerant[1]}: ${
        dark
          ? 'darker ones show no form in shadow. Measure again without the surface reflection, or lift the colour.'
          : 'brighter ones send back more light than fresh snow. Measure again against the instrument’s white, or lower the colour.'
      }`,
      { seen: code, expected: { usual: strict, tolerated: tolerant } },
      severity,
    ),
  ];
}

function checkMetal(finish: Finish, resolved: ResolvedFinish, article: Article | null): Finding[] {
  const findings: Finding[] = [];
  const isKnown = isColourKnown(resolved);
  const bright = luminance(resolved.baseColour);
  // dye in an oxide layer takes away as much as it likes
  if (isKnown && bright < METAL_LUMINANCE && finish.family !== 'anodised') {
    findings.push(
      remark(
        'metal-too-dark',
        finish,
        `${finish.finish} is a metal that reflects ${percent(bright)} of the light; bare metals reflect at least ${percent(METAL_LUMINANCE)}. Dark metal is metal with something on it: take its colour from the table of metals and darken it by roughness, or say that it is painted and not metal.`,
        { seen: round(bright), expected: { atLeast: round(METAL_LUMINANCE) } },
      ),
    );
  }
  const distance = findMetalDistance(finish, resolved, article);
  const metal = findMetal(finish.metalName ?? article?.metalName ?? '');
  if (isKnown && metal && distance !== null && distance > METAL_DISTANCE) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `The colour of ${finish.finish} is ΔE00 ${distance.toFixed(1)} from ${metal.metal} in the table of metals (${METAL_SOURCES[metal.source]}).${
          metal.second
            ? ` A second source is ΔE00 ${deltaE2000(linearToLab(metal.second.f0), linearToLab(metal.f0)).toFixed(1)} from it.`
            : ''
        } Take the table’s colour, or leave the name out if this is an alloy or a tint.`,
        { seen: round(distance), expected: { atMost: METAL_DISTANCE } },
        'note',
      ),
    );
  }
  if (resolved.transmission > 0) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `${finish.finish} is a metal and lets light through. Metals are opaque, and viewers ignore it: set transmission to 0, or metal to false.`,
        { seen: { transmission: resolved.transmission }, expected: { transmission: 0 } },
      ),
    );
  }
  if (resolved.specular) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `The specular strength of ${finish.finish} has no effect: what a metal reflects is its colour. Leave it out.`,
        { seen: { specular: resolved.specular.factor }, expected: { specular: null } },
        'note',
      ),
    );
  }
  return findings;
}

/** What lies on top: sheen, coat, brushing, and a surface smoother than any. */
function checkLayers(finish: Finish, resolved: ResolvedFinish): Finding[] {
  const findings: Finding[] = [];
  if (resolved.sheen && resolved.metalness === 1) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `${finish.finish} is a metal with a sheen. Sheen is the light that fibres scatter; a metal has none: take the sheen off, or set metal to false. Cloth with metal threads is cloth.`,
        { seen: { sheen: resolved.sheen.roughness }, expected: { sheen: null } },
      ),
    );
  }
  if (resolved.clearcoat > 0 && UNCOATED.has(finish.family)) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `${finish.finish} is cloth with a clear coat, which makes it look wet. Set clearcoat to 0; for oilcloth or coated fabric take the family plastic or leather.`,
        { seen: { clearcoat: resolved.clearcoat }, expected: { clearcoat: 0 } },
      ),
    );
  }
  if (resolved.roughness === 0) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `${finish.finish} has a roughness of exactly 0. No surface is that smooth, and lamps make no highlight in it: polished metal and glass have 0.02 to 0.07.`,
        { seen: 0, expected: { from: 0.02, to: 0.07 } },
        'note',
      ),
    );
  }
  return findings;
}

/** What light does inside: volume, index, film. */
function checkBody(finish: Finish, resolved: ResolvedFinish, article: Article | null): Finding[] {
  const findings: Finding[] = [];
  const stated = finish.volume !== undefined ? finish.volume : article?.volume;
  if (stated && resolved.transmission === 0) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `${finish.finish} has a volume and lets no light into it, so the volume is not written. Set transmission above 0, or take the volume off.`,
        { seen: { transmission: 0, thicknessMm: stated.thicknessMm }, expected: { transmission: 'above 0' } },
      ),
    );
  }
  if (resolved.volume) {
    const through = luminance(transmittance(resolved.volume, resolved.volume.thickness));
    const tint = luminance(resolved.baseColour);
    // both count: the colour once at the surface, the volume along the way
    if (through < 0.95 && tint < 0.9) {
      findings.push(
        remark(
          'surface-implausible',
          finish,
          `${finish.finish} is tinted twice: its colour lets ${percent(tint)} through and its volume ${percent(through)} of that. With a volume the colour is white, unless the surface is stained.`,
          { seen: { colour: round(tint), volume: round(through) }, expected: { colour: 1 } },
          'note',
        ),
      );
    }
  }
  const [least, most] = GLASS_IOR;
  if (finish.family === 'glass' && (resolved.ior < least || resolved.ior > most)) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `${finish.finish} is glass with an index of refraction of ${resolved.ior}. Glasses have ${least} to ${most}; window glass has 1.52.`,
        { seen: resolved.ior, expected: { from: least, to: most } },
      ),
    );
  }
  const film = resolved.iridescence;
  if (film && film.thicknessMinNm > film.thicknessMaxNm) {
    findings.push(
      remark(
        'surface-implausible',
        finish,
        `The film on ${finish.finish} is at least ${film.thicknessMinNm} nm thick and at most ${film.thicknessMaxNm} nm. Exchange the two.`,
        {
          seen: [film.thicknessMinNm, film.thicknessMaxNm],
          expected: [film.thicknessMaxNm, film.thicknessMinNm],
        },
      ),
    );
  }
  return findings;
}

function checkLight(finish: Finish, { emissive }: ResolvedFinish): Finding[] {
  if (!emissive || emissive.strength === 0 || SHINING.has(finish.family)) return [];
  return [
    remark(
      'surface-implausible',
      finish,
      `${finish.finish} gives off light, which finishes of the family ${finish.family} do not. Light comes from the lamp behind them: take the light off, or choose glass or plastic for a diffuser.`,
      { seen: { strength: emissive.strength }, expected: { emissive: null } },
    ),
  ];
}

function remark(
  code: 'albedo-implausible' | 'metal-too-dark' | 'surface-implausible',
  finish: Finish,
  message: string,
  figures: Required<Pick<Finding, 'seen' | 'expected'>>,
  severity?: Severity,
): Finding {
  return makeFinding(code, { where: `finish ${finish.finish}`, place: finish.name, message, ...figures }, severity);
}

function round(value: number): number {
  return Math.round(value * 1000) / 1000;
}

function percent(share: number): string {
  return `${Math.round(share * 100)} %`;
}
