/**
 * Reflectance of a smooth dielectric in air, for unpolarised light: the exact value, and the value glTF computes.
 * Angles are in degrees from the normal, 0–90; indices of refraction are at least 1; reflectances are 0–1.
 *
 * The two differ most between 50° and 85°. For index 1.5 at 60° the exact value is 0.0892 and Schlick's is 0.0700; for
 * black glass of index 1.567 they are 0.1001 and 0.0785. Never divide one by the other: use the same formula for sample
 * and reference.
 */

/** Fresnel's equations: the mean of both polarisations. */
export function exactReflectance(ior: number, angleDegrees: number): number {
  const cosine = cosineOf(angleDegrees);
  // refracted ray by Snell's law; from air into a denser medium it always exists
  const refracted = Math.sqrt(1 - (1 - cosine * cosine) / (ior * ior));
  const perpendicular = (cosine - ior * refracted) / (cosine + ior * refracted);
  const parallel = (ior * cosine - refracted) / (ior * cosine + refracted);
  return (perpendicular * perpendicular + parallel * parallel) / 2;
}

/** Schlick's approximation with f90 = 1, which glTF 2.0 (Appendix B) uses instead of Fresnel's equations. */
export function schlickReflectance(ior: number, angleDegrees: number): number {
  return schlick(f0FromIor(ior), cosineOf(angleDegrees));
}

/** Schlick's approximation from the reflectance at normal incidence and the cosine between view and half vector. */
export function schlick(f0: number, cosine: number): number {
  const rest = 1 - Math.abs(cosine);
  const squared = rest * rest;
  return f0 + (1 - f0) * squared * squared * rest;
}

/**
 * Reflectance at normal incidence: ((n − 1) / (n + 1))², as in `KHR_materials_ior`. 1.5 gives 0.04. There, an index of
 * 0 means compatibility with specular-glossiness, and is F0 = 1.
 */
export function f0FromIor(ior: number): number {
  const root = (ior - 1) / (ior + 1);
  return root * root;
}

/** The index, at least 1, with this reflectance at normal incidence; 0 ≤ f0 < 1. */
export function iorFromF0(f0: number): number {
  const root = Math.sqrt(f0);
  return (1 + root) / (1 - root);
}

function cosineOf(angleDegrees: number): number {
  return Math.cos((angleDegrees * Math.PI) / 180);
}
