import { f0FromIor, schlick } from './fresnel.ts';

/** Angles at which a gloss meter measures, in degrees from the normal (ISO 2813, ASTM D523). */
export const GLOSS_ANGLES = [20, 60, 85] as const;
export type GlossAngle = (typeof GLOSS_ANGLES)[number];

/** Full angles of a rectangular opening seen from the specimen, in degrees: in the plane of incidence and across it. */
interface Aperture {
  readonly inPlane: number;
  readonly across: number;
}

/**
 * Image of the source in the receptor's field stop: 0.75° × 2.5° at all three angles, ±0.25° × ±0.5°, as the table of
 * ISO 2813 and ASTM D523 is commonly quoted. Neither text was available: `APERTURE_CAVEAT` says so beside the figures.
 */
export const SOURCE_APERTURE: Aperture = { inPlane: 0.75, across: 2.5 };

/** The receptor's field stop by angle, also as commonly quoted. */
export const RECEPTOR_APERTURES: Readonly<Record<GlossAngle, Aperture>> = {
  20: { inPlane: 1.8, across: 3.6 },
  60: { inPlane: 4.4, across: 11.7 },
  85: { inPlane: 4.0, across: 6.0 },
};

/**
 * The basis of a conversion between roughness and gloss units. The effect of the openings was computed with this
 * integral at ten readings from 5 to 80 gloss units over the three angles: a receptor a tenth wider or narrower changes
 * the roughness by 2.9 to 6.8 %. The mirror limit does not depend on the openings.
 */
export const APERTURE_CAVEAT =
  'Gloss and roughness are converted through the meter’s openings as commonly quoted for ISO 2813 and not checked against its text; a receptor a tenth wider or narrower would change the roughness by 3 to 7 %.';

/** Index of the black glass that reads 100 at every angle (ISO 2813:2014, §3.3; at 587.6 nm). */
export const REFERENCE_IOR = 1.567;

/** Index of glTF's clearcoat, which is fixed (`KHR_materials_clearcoat`). */
export const CLEARCOAT_IOR = 1.5;

/** The properties of a glTF dielectric that a gloss meter measures. */
interface GlossSurface {
  /** Index of refraction, 1 or more (`KHR_materials_ior`). */
  readonly ior: number;
  /** Luminance Y of the linear base colour, 0–1: the light that the ground reflects in all directions. */
  readonly luminance: number;
  /** glTF perceptual roughness, 0–1. */
  readonly roughness: number;
  /** `KHR_materials_clearcoat` over it: factor and roughness, 0–1. */
  readonly clearcoat?: { readonly factor: number; readonly roughness: number };
}

/** Points per axis for the quadrature over source and receptor. */
interface GlossGrid {
  readonly source: number;
  readonly receptor: number;
}

/** Its error, against a finer grid, is below 0.002 gloss units from roughness 0.01 up, and below 0.00002 from 0.03. */
const GRID: GlossGrid = { source: 8, receptor: 40 };

/**
 * Gloss units that a meter would read from a glTF material: flux into the receptor over the flux of smooth black glass,
 * times 100, both through the BRDF of glTF 2.0, Appendix B (GGX, Smith's visibility, Schlick with f90 = 1, Lambert
 * below).
 *
 *     GU = 100 · ∫source ∫receptor f(l, v) (n·l) (n·v) dω dω / ∫source F(1.567, n·l) (n·l) dω
 *
 * Schlick's term is below exact Fresnel at 60° (0.070 against 0.089 at index 1.5). Since the black glass uses it too, a
 * mirror of index 1.5 reads 89.2, as on a real meter; against exact glass it would read 70.
 *
 * The source is uniform over its image. A roughness of 0 is a mirror: its whole lobe is in the receptor, and it has a
 * closed form.
 */
export function integrateGloss(surface: GlossSurface, angle: GlossAngle, grid: GlossGrid = GRID): number {
  const f0 = f0FromIor(surface.ior);
  const base =
    integrateSpecular(surface.roughness, angle, f0, 'half', grid) +
    surface.luminance * integrateDiffuse(angle, f0, grid);
  const coat = surface.clearcoat;
  if (coat === undefined || coat.factor === 0) return base;
  const coatF0 = f0FromIor(CLEARCOAT_IOR);
  const kept = 1 - coat.factor * schlick(coatF0, Math.cos((angle * Math.PI) / 180));
  return coat.factor * integrateSpecular(coat.roughness, angle, coatF0, 'normal', grid) + kept * base;
}

/** Gloss units of a smooth dielectric of this index, without the ground below it: the mirror limit. */
export function mirrorGloss(ior: number, angle: GlossAngle): number {
  return integrateSpecular(0, angle, f0FromIor(ior), 'half', GRID);
}

/** Where Schlick's term is evaluated: at the half vector (base), or at the normal (clearcoat). */
type FresnelAt = 'half' | 'normal';

/** Gloss units of the specular lobe alone. */
export function integrateSpecular(
  roughness: number,
  angle: GlossAngle,
  f0: number,
  fresnelAt: FresnelAt = 'half',
  grid: GlossGrid = GRID,
): number {
  const alpha = roughness * roughness;
  if (alpha < MIRROR_ALPHA) return (100 * integrateSource(angle, f0, grid)) / integrateReference(angle, grid);
  const { source, receptor, cosine, sine } = geometryOf(angle);
  const bySource = gaussLegendre(grid.source);
  const byReceptor = gaussLegendre(grid.receptor);
  let flux = 0;
  for (let i = 0; i < grid.source; i += 1) {
    const a = source.inPlane * bySource.nodes[i]!;
    // the receptor in its plane, with points concentrated at the mirrored point of the source, where the lobe peaks
    const inPlane = drawTogether(byReceptor, a, receptor.inPlane, 2 * alpha);
    for (let j = 0; j < grid.source; j += 1) {
      const b = source.across * bySource.nodes[j]!;
      // the plane of incidence is a plane of symmetry
      if (b < 0) continue;
      const half = b === 0 ? 1 : 2;
      const across = drawTogether(byReceptor, -b, receptor.across, 2 * alpha * cosine);
      const lengthL = Math.sqrt(1 + a * a + b * b);
      const lx = (-sine - a * cosine) / lengthL;
      const ly = b / lengthL;
      const lz = (cosine - a * sine) / lengthL;
      let row = 0;
      for (let k = 0; k < grid.receptor; k += 1) {
        const u = inPlane.points[k]!;
        let column = 0;
        for (let m = 0; m < grid.receptor; m += 1) {
          const w = across.points[m]!;
          const lengthV = Math.sqrt(1 + u * u + w * w);
          const vx = (sine + u * cosine) / lengthV;
          const vy = w / lengthV;
          const vz = (cosine - u * sine) / lengthV;
          const hx = lx + vx;
          const hy = ly + vy;
          const hz = lz + vz;
          const squared = hx * hx + hy * hy + hz * hz;
          // (n·h)² (α² − 1) + 1, in a form that keeps the digits of a small α
          const spread = (alpha * alpha * hz * hz + hx * hx + hy * hy) / squared;
          const normals = (alpha * alpha) / (Math.PI * spread * spread);
          const fresnel = schlick(f0, fresnelAt === 'normal' ? vz : Math.sqrt(squared) / 2);
          const brdf = fresnel * normals * visibility(alpha, lz, vz);
          column += (across.weights[m]! * brdf * vz) / lengthV ** 3;
        }
        row += inPlane.weights[k]! * column;
      }
      flux += (half * bySource.weights[i]! * bySource.weights[j]! * row * lz) / lengthL ** 3;
    }
  }
  const flat = flux * source.inPlane * source.across;
  return (100 * flat) / integrateReference(angle, grid);
}

/** Gloss units of the ground below, of luminance 1: glTF's (1 − F) / π, F at the half vector at any roughness. */
export function integrateDiffuse(angle: GlossAngle, f0: number, grid: GlossGrid = GRID): number {
  const { source, receptor, cosine, sine } = geometryOf(angle);
  const rule = gaussLegendre(grid.source);
  let flux = 0;
  overWindow(rule, source, (a, b, sourceWeight) => {
    const lengthL = Math.sqrt(1 + a * a + b * b);
    const l = [(-sine - a * cosine) / lengthL, b / lengthL, (cosine - a * sine) / lengthL] as const;
    overWindow(rule, receptor, (u, w, receptorWeight) => {
      const lengthV = Math.sqrt(1 + u * u + w * w);
      const v = [(sine + u * cosine) / lengthV, w / lengthV, (cosine - u * sine) / lengthV] as const;
      const halfCosine = Math.sqrt((1 + l[0] * v[0] + l[1] * v[1] + l[2] * v[2]) / 2);
      const brdf = (1 - schlick(f0, halfCosine)) / Math.PI;
      flux += (sourceWeight * receptorWeight * brdf * l[2] * v[2]) / (lengthL * lengthV) ** 3;
    });
  });
  return (100 * flux) / integrateReference(angle, grid);
}

/**
 * Below this (roughness 0.005), less than a hundred-thousandth of the lobe misses any receptor, which is less than the
 * error of the grid.
 */
const MIRROR_ALPHA = 2.5e-5;

/** Smith's visibility of GGX, as in Appendix B. */
function visibility(alpha: number, nl: number, nv: number): number {
  const squared = alpha * alpha;
  const toView = nv * Math.sqrt(squared + (1 - squared) * nl * nl);
  const toLight = nl * Math.sqrt(squared + (1 - squared) * nv * nv);
  return 1 / (2 * (toView + toLight));
}

/** Flux of smooth black glass; the receptor receives all of it. */
function integrateReference(angle: GlossAngle, grid: GlossGrid): number {
  return integrateSource(angle, f0FromIor(REFERENCE_IOR), grid);
}

/** ∫source F (n·l) dω of a mirror, whose half vector is the normal. */
function integrateSource(angle: GlossAngle, f0: number, grid: GlossGrid): number {
  const { source, cosine, sine } = geometryOf(angle);
  let flux = 0;
  overWindow(gaussLegendre(grid.source), source, (a, b, weight) => {
    const length = Math.sqrt(1 + a * a + b * b);
    const lz = (cosine - a * sine) / length;
    flux += (weight * schlick(f0, lz) * lz) / length ** 3;
  });
  return flux;
}

/** Half widths of source and receptor as tangents, and the angle of incidence. */
function geometryOf(angle: GlossAngle) {
  const radians = (angle * Math.PI) / 180;
  return {
    source: halfTangents(SOURCE_APERTURE),
    receptor: halfTangents(RECEPTOR_APERTURES[angle]),
    cosine: Math.cos(radians),
    sine: Math.sin(radians),
  };
}

function halfTangents(aperture: Aperture): Aperture {
  const halfTangent = (degrees: number) => Math.tan((degrees * Math.PI) / 360);
  return { inPlane: halfTangent(aperture.inPlane), across: halfTangent(aperture.across) };
}

function overWindow(rule: Quadrature, window: Aperture, visit: (x: number, y: number, weight: number) => void): void {
  rule.nodes.forEach((nodeX, i) => {
    rule.nodes.forEach((nodeY, j) => {
      const weight = rule.weights[i]! * rule.weights[j]! * window.inPlane * window.across;
      visit(nodeX * window.inPlane, nodeY * window.across, weight);
    });
  });
}

/**
 * Points on −half…half that concentrate at a centre by x = centre + width · sinh t. An evenly spaced grid would miss a
 * lobe a hundred times narrower than the receptor.
 */
function drawTogether(rule: Quadrature, centre: number, half: number, width: number) {
  const from = Math.asinh((-half - centre) / width);
  const to = Math.asinh((half - centre) / width);
  const points: number[] = [];
  const weights: number[] = [];
  rule.nodes.forEach((node, index) => {
    const t = (from + to) / 2 + ((to - from) / 2) * node;
    points.push(centre + width * Math.sinh(t));
    weights.push(rule.weights[index]! * ((to - from) / 2) * width * Math.cosh(t));
  });
  return { points, weights };
}

/** Nodes on −1…1 and weights that sum to 2. */
interface Quadrature {
  readonly nodes: readonly number[];
  readonly weights: readonly number[];
}

/** Gauss–Legendre quadrature with `count` points: exact for polynomials up to degree 2·count − 1. */
export function gaussLegendre(count: number): Quadrature {
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let index = 0; index < count; index += 1) {
    let node = Math.cos((Math.PI * (index + 0.75)) / (count + 0.5));
    let slope = 0;
    // Newton's method; from this start it reaches the last digit after four or five steps
    for (let step = 0; step < 10; step += 1) {
      let value = 1;
      let previous = 0;
      for (let order = 1; order <= count; order += 1) {
        const next = ((2 * order - 1) * node * value - (order - 1) * previous) / order;
        previous = value;
        value = next;
      }
      slope = (count * (node * value - previous)) / (node * node - 1);
      node -= value / slope;
    }
    nodes.push(node);
    weights.push(2 / ((1 - node * node) * slope * slope));
  }
  return { nodes, weights };
}
