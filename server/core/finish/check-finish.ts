import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { decodeSrgb, encodeSrgb, type LinearRgb, luminance } from '../colour/srgb.ts';
import { type Finding, makeFinding, type Severity } from '../product/finding.ts';
import type { FiguresOf, FindingText } from '../texts/finding-texts.ts';
import type { Article, Family, Finish, Surface } from './finish.ts';
import { findMetal, METAL_SOURCES } from './metals.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/**
 * Luminance of non-metals as 8-bit sRGB codes. Dark end: 30 tolerant, 50 strict (Filament, material guide; charcoal is
 * 30 in the Khronos 3D Commerce Asset Creation Guidelines v1.0.0). Bright end: 240 strict (Filament), 243 tolerant,
 * which is fresh snow in the Khronos guidelines.
 */
const ALBEDO_CODES = { tolerant: [30, 243], strict: [50, 240] } as const;

/**
 * Bare metals have a luminance of 170 or above as an 8-bit sRGB code (Filament, material guide: 170–255); 0.40 linear.
 */
const METAL_LUMINANCE = decodeSrgb(170 / 255);

/**
 * Refraction indices of glasses: fused silica has 1.458 at 587.6 nm (Malitson 1965, in refractiveindex.info), the
 * densest flints about 1.95 (a glass maker's guide to optical glass); window glass has 1.52 (`KHR_materials_ior`).
 */
const GLASS_IOR = [1.45, 1.95] as const;

/** Largest ΔE00 to the table's metal without a finding: the common tolerance of `tolerances.ts`. */
const METAL_DISTANCE = 2;

/** Families in which a clear coat is unusual. */
const UNCOATED: ReadonlySet<Family> = new Set(['textile']);
/** Families that a lamp may shine through. */
const SHINING: ReadonlySet<Family> = new Set(['glass', 'plastic']);

/**
 * Checks whether a finish is physically plausible. Each finding states the value, the usual range and the remedy. A
 * supplied material has no findings, because it is delivered unchanged.
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

/** A colour that comes from a map is unknown until the map is measured. Until then it is white. */
function isColourKnown({ colourFrom, levelled }: ResolvedFinish): boolean {
  return colourFrom === 'specification' || levelled !== null;
}

/**
 * ΔE00 between a finish's colour and the metal it names; null if the table lacks that metal. Both colours are
 * reflectances at normal incidence.
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

/** Transmitted light has no albedo: the colour of a clear material is a filter and may have any value. */
function checkAlbedo(finish: Finish, resolved: ResolvedFinish): Finding[] {
  const { baseColour, transmission } = resolved;
  if (transmission > 0 || !isColourKnown(resolved)) return [];
  const code = Math.round(encodeSrgb(Math.min(1, Math.max(0, luminance(baseColour)))) * 255);
  const { tolerant, strict } = ALBEDO_CODES;
  if (code >= strict[0] && code <= strict[1]) return [];
  const severity: Severity = code >= tolerant[0] && code <= tolerant[1] ? 'note' : 'warning';
  return [
    remark(
      'albedo-implausible',
      finish,
      { finish: finish.finish, code, strict, tolerant },
      { seen: code, expected: { usual: strict, tolerated: tolerant } },
      severity,
    ),
  ];
}

function checkMetal(finish: Finish, resolved: ResolvedFinish, article: Article | null): Finding[] {
  const findings: Finding[] = [];
  const isKnown = isColourKnown(resolved);
  const bright = luminance(resolved.baseColour);
  // Dye in an oxide layer may absorb any amount of light.
  if (isKnown && bright < METAL_LUMINANCE && finish.family !== 'anodised') {
    findings.push(
      remark(
        'metal-too-dark',
        finish,
        { finish: finish.finish, reflectance: bright, atLeast: METAL_LUMINANCE },
        { seen: round(bright), expected: { atLeast: round(METAL_LUMINANCE) } },
      ),
    );
  }
  const distance = findMetalDistance(finish, resolved, article);
  const metal = findMetal(finish.metalName ?? article?.metalName ?? '');
  if (isKnown && metal && distance !== null && distance > METAL_DISTANCE) {
    findings.push(
      remark(
        'surface-implausible:metal-colour',
        finish,
        {
          finish: finish.finish,
          metal: metal.metal,
          source: METAL_SOURCES[metal.source],
          deltaE: distance,
          secondDeltaE: metal.second ? deltaE2000(linearToLab(metal.second.f0), linearToLab(metal.f0)) : null,
        },
        { seen: round(distance), expected: { atMost: METAL_DISTANCE } },
        'note',
      ),
    );
  }
  if (resolved.transmission > 0) {
    findings.push(
      remark(
        'surface-implausible:transparent-metal',
        finish,
        { finish: finish.finish },
        { seen: { transmission: resolved.transmission }, expected: { transmission: 0 } },
      ),
    );
  }
  if (resolved.specular) {
    findings.push(
      remark(
        'surface-implausible:metal-specular',
        finish,
        { finish: finish.finish },
        { seen: { specular: resolved.specular.factor }, expected: { specular: null } },
        'note',
      ),
    );
  }
  return findings;
}

/** Checks the layers on top: sheen, coat, brushing, and a surface that is too smooth. */
function checkLayers(finish: Finish, resolved: ResolvedFinish): Finding[] {
  const findings: Finding[] = [];
  if (resolved.sheen && resolved.metalness === 1) {
    findings.push(
      remark(
        'surface-implausible:metal-sheen',
        finish,
        { finish: finish.finish },
        { seen: { sheen: resolved.sheen.roughness }, expected: { sheen: null } },
      ),
    );
  }
  if (resolved.clearcoat > 0 && UNCOATED.has(finish.family)) {
    findings.push(
      remark(
        'surface-implausible:coated-cloth',
        finish,
        { finish: finish.finish },
        { seen: { clearcoat: resolved.clearcoat }, expected: { clearcoat: 0 } },
      ),
    );
  }
  if (resolved.roughness === 0) {
    findings.push(
      remark(
        'surface-implausible:no-roughness',
        finish,
        { finish: finish.finish },
        { seen: 0, expected: { from: 0.02, to: 0.07 } },
        'note',
      ),
    );
  }
  return findings;
}

/** Checks the inside of the body: volume, refraction index, film. */
function checkBody(finish: Finish, resolved: ResolvedFinish, article: Article | null): Finding[] {
  const findings: Finding[] = [];
  const stated = finish.volume !== undefined ? finish.volume : article?.volume;
  if (stated && resolved.transmission === 0) {
    findings.push(
      remark(
        'surface-implausible:opaque-volume',
        finish,
        { finish: finish.finish },
        { seen: { transmission: 0, thicknessMm: stated.thicknessMm }, expected: { transmission: 'above 0' } },
      ),
    );
  }
  if (resolved.volume) {
    const through = luminance(transmittance(resolved.volume, resolved.volume.thickness));
    const tint = luminance(resolved.baseColour);
    // Both count: the colour once at the surface, the volume along the path.
    if (through < 0.95 && tint < 0.9) {
      findings.push(
        remark(
          'surface-implausible:tinted-twice',
          finish,
          { finish: finish.finish, tint, through },
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
        'surface-implausible:glass-index',
        finish,
        { finish: finish.finish, ior: resolved.ior, least, most },
        { seen: resolved.ior, expected: { from: least, to: most } },
      ),
    );
  }
  const film = resolved.iridescence;
  if (film && film.thicknessMinNm > film.thicknessMaxNm) {
    findings.push(
      remark(
        'surface-implausible:film',
        finish,
        { finish: finish.finish, leastNm: film.thicknessMinNm, mostNm: film.thicknessMaxNm },
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
      'surface-implausible:emission',
      finish,
      { finish: finish.finish, family: finish.family },
      { seen: { strength: emissive.strength }, expected: { emissive: null } },
    ),
  ];
}

function remark<T extends FindingText>(
  text: T,
  finish: Finish,
  figures: FiguresOf<T>,
  seenAndExpected: Required<Pick<Finding, 'seen' | 'expected'>>,
  severity?: Severity,
): Finding {
  return makeFinding(
    text,
    figures,
    { where: `finish ${finish.finish}`, place: finish.name, ...seenAndExpected },
    severity,
  );
}

function round(value: number): number {
  return Math.round(value * 1000) / 1000;
}

/**
 * Share of light left after a path through a body, linear RGB 0–1: `c ^ (x / d)` (Beer and Lambert's law as
 * `KHR_materials_volume` states it).
 * @param pathMetres length of the path; the wall's thickness for light that goes straight through
 */
export function transmittance(
  { attenuationColour, attenuationDistance }: { attenuationColour: LinearRgb; attenuationDistance: number },
  pathMetres: number,
): LinearRgb {
  const exponent = pathMetres / attenuationDistance;
  const [r, g, b] = attenuationColour;
  return [r ** exponent, g ** exponent, b ** exponent];
}
