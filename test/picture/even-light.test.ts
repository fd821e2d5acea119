import { beforeAll, describe, expect, it } from 'vitest';
import { SPHERE_RADIUS } from '../../renderer/page/sphere.ts';
import type { Finish } from '../../server/core/finish/finish.ts';
import { METALS, type MetalName } from '../../server/core/finish/metals.ts';
import { type ResolvedFinish, resolveFinish } from '../../server/core/finish/resolve-finish.ts';
import { writeFinishMaterial } from '../../server/gltf/materials/finish-material.ts';
import { type EvenShot, type EvenStudio, openEvenStudio } from '../renderer/even-studio.ts';
import { makeFinish } from '../support/make-finish.ts';
import { KHRONOS_METALS } from '../support/published-metals.ts';

// The shader, target and averaging of every picture, on the swatch sphere, under light of radiance 1 from everywhere
// and without a tone curve. The light that leaves the surface is then its reflectance, which published figures state.

const SIZE_PX = 256;

/**
 * Half floats hold encoded values to a 4096th. Decoded near 1, that is 0.0006, and the prefiltered light rounds once
 * more.
 */
const EXACT = 0.002;

type Colour = readonly [number, number, number];
const WHITE: Colour = [1, 1, 1];
const BLACK: Colour = [0, 0, 0];

/** Cosines between normal and view, from facing to near the rim. */
const FACINGS = [1, 0.9, 0.7, 0.5, 0.3, 0.15];

describe('under even light', () => {
  let studio: EvenStudio;
  beforeAll(async () => {
    studio = await openEvenStudio();
  }, 120_000);

  async function take(given: Partial<Finish>, baseColour: Colour): Promise<EvenShot> {
    const resolved = resolveFinish(makeFinish('A', { family: 'plastic', clearcoat: 0, sheen: null, ...given }), null);
    return studio.takeSwatch(await toKit({ ...resolved, baseColour }), {
      kind: 'sphere',
      light: 'studio',
      sizePx: SIZE_PX,
    });
  }

  // W3C/CIE definition of a Lambertian reflector: radiance = albedo × irradiance / π, and even radiance 1 gives an
  // irradiance of π.
  it.each<Colour>([
    [0, 0, 0],
    [0.02, 0.02, 0.02],
    [0.18, 0.18, 0.18],
    [0.8, 0.2, 0.1],
    [0.05, 0.4, 0.7],
    [1, 1, 1],
  ])('a matt surface without shine shows its albedo %f %f %f at every angle', async (...albedo) => {
    const shot = await take({ roughness: 1, specular: { factor: 0 } }, albedo);
    for (const facing of FACINGS) expectColour(shot, facing, albedo, EXACT);
  });

  // White furnace: a surface that absorbs nothing returns everything. With the energy of repeated scattering returned,
  // it is 1 at every angle and roughness (Kulla & Conty 2017). The engine's method, C. Fdez-Agüera, JCGT 8(1) 2019,
  // achieves this by its algebra: Ess + (1 − Ess) for F = 1, and the body of a dielectric gets the light that is not
  // reflected.
  it.each([
    ['bare-metal', 0],
    ['bare-metal', 0.3],
    ['bare-metal', 0.6],
    ['bare-metal', 1],
    ['plastic', 0],
    ['plastic', 0.3],
    ['plastic', 0.6],
    ['plastic', 1],
  ] as const)('white %s of roughness %f is not to be told from the light', async (family, roughness) => {
    const shot = await take({ family, roughness }, WHITE);
    for (const facing of FACINGS) expectColour(shot, facing, WHITE, EXACT);
  });

  it.each([
    ['brushed metal', { family: 'bare-metal', roughness: 0.3, anisotropy: { strength: 0.8, rotationDegrees: 30 } }],
    ['cloth with a sheen', { family: 'textile', roughness: 0.9, sheen: { colour: '#ffffff', roughness: 0.4 } }],
  ] as const)('nor is white %s', async (_, given) => {
    const shot = await take(given, WHITE);
    for (const facing of FACINGS) expectColour(shot, facing, WHITE, EXACT);
  });

  // The engine darkens the layers under a coat by Schlick's term, and takes the coat's reflection from its table.
  // Together they are one within a few thousandths. Near the rim, where the table is coarse, white lacquer is darker
  // than the light.
  it('white lacquer returns no more light than it gets', async () => {
    const shot = await take({ roughness: 0.5, clearcoat: 1, clearcoatRoughness: 0.1 }, WHITE);
    for (const facing of [1, 0.9, 0.7, 0.5, 0.3]) expectColour(shot, facing, WHITE, 0.005);
    for (const value of readAll(shot, 0.15).flat()) expect([value > 0.92, value < 1 + EXACT]).toEqual([true, true]);
  });

  // F0 = ((n − 1) / (n + 1))² (Fresnel, facing); indices from physicallybased.info v2.1 and the table of
  // KHR_materials_ior.
  it.each([
    ['water', 1.33, 0.02006],
    ['acrylic', 1.4905, 0.03879],
    ['glTF’s default', 1.5, 0.04],
    ['window glass', 1.52, 0.04258],
    ['polycarbonate', 1.5848, 0.05119],
    ['sapphire', 1.7682, 0.07701],
    ['diamond', 2.4168, 0.17194],
  ] as const)('%s of index %f reflects %f of the light it faces', async (_, ior, f0) => {
    expectColour(await take({ roughness: 0, ior }, BLACK), 1, [f0, f0, f0], 0.0005);
  });

  it('clear glass reflects the same share, and lets the rest through: 4 % over black', async () => {
    const clear = await take({ family: 'glass', roughness: 0, ior: 1.5 }, WHITE);
    const [seen] = readAll(clear, 1);
    for (const value of seen!) expect(Math.abs(value - 0.04)).toBeLessThan(0.0005);
  });

  // Single scattering by glTF 2.0 Appendix B (F0 0.04, F90 1), integrated over the hemisphere by quadrature to ± 0.003.
  // The engine adds repeated scattering, 7 % at most here, and reads all values from a table of 16 × 16. Its last row
  // is roughness 0.97, so the roughest facing surfaces shine slightly too much: 0.0147 against 0.0131.
  it.each([
    [0.1, { 1: 0.04, 0.5: 0.0701, 0.25: 0.2667 }],
    [0.3, { 1: 0.0396, 0.5: 0.0702, 0.25: 0.2084 }],
    [0.5, { 1: 0.0367, 0.5: 0.0557, 0.25: 0.1112 }],
    [0.7, { 1: 0.028, 0.5: 0.0382, 0.25: 0.0637 }],
    [1, { 1: 0.0123, 0.5: 0.0209 }],
  ] as const)('black plastic of roughness %f shines by glTF’s formula', async (roughness, expected) => {
    const shot = await take({ roughness }, BLACK);
    for (const [facing, value] of Object.entries(expected)) {
      expectColour(shot, Number(facing), [value, value, value], 0.003 + value * 0.06);
    }
  });

  // The Khronos guidelines; chromium: Unity Shader Graph documentation.
  it.each<readonly [string, Colour]>([...KHRONOS_METALS, ['chromium', [0.55, 0.556, 0.554]]])(
    'polished %s has its published reflectance',
    async (name, published) => {
      const shot = await take({ family: 'bare-metal', roughness: 0 }, METALS[name as MetalName].f0);
      expectColour(shot, 1, published, EXACT);
    },
  );
});

function toKit(finish: ResolvedFinish): Promise<Uint8Array> {
  return writeFinishMaterial(finish, () => Promise.reject(new Error('no maps here')));
}

/** Compares the places where the cosine between normal and view is `facing`, on four sides of the sphere. */
function expectColour(shot: EvenShot, facing: number, expected: Colour, within: number): void {
  for (const seen of readAll(shot, facing)) {
    const off = Math.max(...expected.map((value, channel) => Math.abs(value - seen[channel]!)));
    expect(off, `facing ${facing}: ${seen}, expected ${expected}`).toBeLessThanOrEqual(within);
  }
}

/** Colours where the sphere's normal has this cosine with the view: right, left, above and below its middle. */
function readAll({ at, camera, widthPx }: EvenShot, facing: number): readonly Colour[] {
  const distance = Math.hypot(camera.world[12]!, camera.world[13]!, camera.world[14]!);
  // Law of sines in the triangle of camera, centre and point: the view meets the surface at this angle to the normal.
  const sine = (Math.sqrt(1 - facing ** 2) * SPHERE_RADIUS) / distance;
  const away = (Math.tan(Math.asin(sine)) * camera.projection[0]! * widthPx) / 2;
  const middle = widthPx / 2;
  return [
    [middle + away, middle],
    [middle - away, middle],
    [middle, middle - away],
    [middle, middle + away],
  ].map(([x, y]) => between(at, x! - 0.5, y! - 0.5));
}

/** Between the middles of four pixels. */
function between(at: EvenShot['at'], x: number, y: number): Colour {
  const [left, top] = [Math.floor(x), Math.floor(y)];
  const [right, down] = [x - left, y - top];
  const mix = (channel: number) =>
    (at(left, top)[channel]! * (1 - right) + at(left + 1, top)[channel]! * right) * (1 - down) +
    (at(left, top + 1)[channel]! * (1 - right) + at(left + 1, top + 1)[channel]! * right) * down;
  return [mix(0), mix(1), mix(2)];
}
