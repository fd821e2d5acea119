import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { toUvMap, turnNormals, UNTURNED } from '../../../server/core/delivery/repeat-transform.ts';
import {
  combineNormals,
  type NormalBake,
  type NormalLayer,
  reorientNormal,
  scaleNormal,
  type Vector,
} from '../../../server/images/combine-normals.ts';
import { makeFlatPng, makeNormalPng, type Normal, normalOf } from '../../support/make-normals.ts';
import { createRandom } from '../../support/random.ts';

const PX = 128;
const TURN = 2 * Math.PI;

const layer = (image: Uint8Array, more: Partial<NormalLayer> = {}): NormalLayer => ({
  image,
  lay: toUvMap(),
  turn: UNTURNED,
  scale: 1,
  wrap: ['repeat', 'repeat'],
  ...more,
});

async function bake(base: NormalLayer, detail: NormalLayer, more: Partial<NormalBake> = {}): Promise<Buffer> {
  const baked = await combineNormals({ base, detail, widthPx: PX, heightPx: PX, ...more });
  if (!('png' in baked)) throw new Error(`${baked.unreadable} was not read`);
  return sharp(baked.png).raw().toBuffer();
}

const codesOf = (png: Uint8Array) => sharp(png).removeAlpha().raw().toBuffer();

/** Each code, or its neighbour: texels of eight bits are not of unit length to the last digit. */
function expectCodes(is: Buffer, wanted: Buffer): void {
  expect(is.length).toBe(wanted.length);
  expect(is.reduce((worst, code, i) => Math.max(worst, Math.abs(code - wanted[i]!)), 0)).toBeLessThanOrEqual(1);
}

/** Largest angle, degrees, between the texels and what they should be. */
function findWorst(codes: Buffer, wanted: (u: number, v: number) => Normal, px = PX): number {
  let worst = 0;
  for (let y = 0; y < px; y++) {
    for (let x = 0; x < px; x++) {
      const at = (y * px + x) * 3;
      const is = [0, 1, 2].map((c) => codes[at + c]! / 127.5 - 1);
      const normal = wanted((x + 0.5) / px, (y + 0.5) / px);
      const cosine = is.reduce((sum, value, c) => sum + value * normal[c]!, 0) / Math.hypot(...is);
      worst = Math.max(worst, (Math.acos(Math.min(1, cosine)) * 180) / Math.PI);
    }
  }
  return worst;
}

/** Half a code in x and in y is 0.32°: two maps are rounded, and what comes of them. */
const CODE_DEGREES = 1;

const seams = (u: number, v: number) => normalOf(0.4 * Math.sin(TURN * u), 0.2 * Math.cos(TURN * v));
const weave = (u: number, v: number) => normalOf(0.3 * Math.sin(TURN * u + 0.4), 0.5 * Math.sin(TURN * v));

/** Reoriented normal mapping by its definition: a frame that is turned by the shortest arc from +Z to the base. */
function combine([bx, by, bz]: Normal, [dx, dy, dz]: Normal): Normal {
  const k = 1 / (1 + bz);
  // columns of the turn that takes (0, 0, 1) to the base, which leaves the direction at right angles to both as it is
  return [
    dx * (1 - bx * bx * k) - dy * bx * by * k + dz * bx,
    -dx * bx * by * k + dy * (1 - by * by * k) + dz * by,
    -dx * bx - dy * by + dz * bz,
  ];
}

describe('two normal maps in one', () => {
  it('is the detail on a flat base, and the base under a flat detail, to the code, where no texel is mixed', async () => {
    const flat = await makeFlatPng();
    const map = await makeNormalPng([PX, PX], weave);
    const codes = await codesOf(map);
    expectCodes(await bake(layer(flat), layer(map)), codes);
    expectCodes(await bake(layer(map), layer(flat)), codes);
    // tools write 127 for nothing as well as 128
    const other = await sharp({ create: { width: 4, height: 4, channels: 3, background: '#7f7fff' } })
      .png()
      .toBuffer();
    expectCodes(await bake(layer(other), layer(map)), codes);
    expect([...(await bake(layer(other), layer(flat))).subarray(0, 3)]).toEqual([128, 128, 255]);
  });

  it('is each texel of the detail turned to the base, in repeats', async () => {
    const base = await makeNormalPng([PX, PX], seams);
    const detail = await makeNormalPng([64, 64], weave);
    const codes = await bake(layer(base), layer(detail, { lay: toUvMap({ scale: [2, 2], offset: [0.25, 0.5] }) }));
    const wanted = (u: number, v: number) => combine(seams(u, v), weave(2 * u + 0.25, 2 * v + 0.5));
    expect(findWorst(codes, wanted)).toBeLessThan(CODE_DEGREES);
  });

  it('is dense between texels: a coarse map of slow waves is as good as the waves', async () => {
    const base = await makeNormalPng([64, 64], seams);
    const detail = await makeNormalPng([64, 64], weave);
    const codes = await bake(layer(base), layer(detail), { widthPx: 256, heightPx: 256 });
    // between 64 texels a wave is cut short by (π/64)²/2 at most
    expect(findWorst(codes, (u, v) => combine(seams(u, v), weave(u, v)), 256)).toBeLessThan(CODE_DEGREES);
  });

  it.each([30, 90, -135])('turns the normals of a map with its image, by %i°', async (degrees) => {
    const flat = await makeFlatPng();
    const detail = await makeNormalPng([PX, PX], weave);
    // coordinates turned one way show the image turned the other way
    const lay = toUvMap({ scale: [2, 2], rotation: (-degrees * Math.PI) / 180 });
    const codes = await bake(layer(flat), layer(detail, { lay, turn: turnNormals(lay)! }));
    const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
    // the image turned counter-clockwise: a step to the right in it is a step (cos, sin) in the part, up counted upwards
    const wanted = (u: number, v: number): Normal => {
      const [right, up] = [u, -v];
      const [x, y, z] = weave(2 * (cos * right + sin * up), -2 * (-sin * right + cos * up));
      return [cos * x - sin * y, sin * x + cos * y, z];
    };
    expect(findWorst(codes, wanted)).toBeLessThan(CODE_DEGREES);
  });

  it('takes the strength of each map before its normals are brought to length', async () => {
    const base = await makeNormalPng([PX, PX], seams);
    const detail = await makeNormalPng([PX, PX], weave);
    const codes = await bake(layer(base, { scale: 2 }), layer(detail, { scale: 0.5 }));
    const scaled = ([x, y, z]: Normal, scale: number): Normal => {
      const length = Math.hypot(x * scale, y * scale, z);
      return [(x * scale) / length, (y * scale) / length, z / length];
    };
    expect(findWorst(codes, (u, v) => combine(scaled(seams(u, v), 2), scaled(weave(u, v), 0.5)))).toBeLessThan(
      // what is doubled has its rounding doubled
      2 * CODE_DEGREES,
    );
  });

  it.each([
    ['repeat', [10, 20, 10, 20]],
    ['mirror', [20, 10, 10, 20]],
    ['clamp', [10, 10, 10, 20]],
  ] as const)('shows beyond the edge of a map what its sampler says: %s', async (wrap, reds) => {
    // two texels side by side; two units of them
    const data = Buffer.from([10, 20].flatMap((degrees) => encode(degrees)));
    const image = await sharp(data, { raw: { width: 2, height: 1, channels: 3 } })
      .png()
      .toBuffer();
    const base = layer(image, { lay: toUvMap({ scale: [2, 1], offset: [-1, 0] }), wrap: [wrap, wrap] });
    const codes = await bake(base, layer(await makeFlatPng()), { widthPx: 4, heightPx: 1 });
    expect([0, 1, 2, 3].map((x) => codes[x * 3]!)).toEqual(reds.map((degrees) => encode(degrees)[0]!));
  });

  it('has no normal that points into the surface', async () => {
    const steep = await makeNormalPng([4, 4], () => normalOf(3, 0));
    const codes = await bake(layer(steep), layer(steep), { widthPx: 4, heightPx: 4 });
    expect([...codes.subarray(0, 3)]).toEqual([0, 128, 128]);
  });

  it('passes over alpha', async () => {
    const clear = await sharp({
      create: { width: 4, height: 4, channels: 4, background: { r: 128, g: 128, b: 255, alpha: 0 } },
    })
      .png()
      .toBuffer();
    const map = await makeNormalPng([PX, PX], weave);
    expectCodes(await bake(layer(clear), layer(map)), await codesOf(map));
  });

  it('says which of the two it could not read', async () => {
    const flat = layer(await makeFlatPng());
    const broken = layer(new Uint8Array([1, 2, 3, 4]));
    const size = { widthPx: 4, heightPx: 4 };
    expect(await combineNormals({ base: broken, detail: flat, ...size })).toEqual({ unreadable: 'base' });
    expect(await combineNormals({ base: flat, detail: broken, ...size })).toEqual({ unreadable: 'detail' });
  });

  it('comes out the same to the byte', async () => {
    const base = layer(await makeNormalPng([64, 64], seams));
    const detail = layer(await makeNormalPng([64, 64], weave), { lay: toUvMap({ scale: [3.3, 3.3], rotation: 0.4 }) });
    const once = () => combineNormals({ base, detail, widthPx: PX, heightPx: PX });
    expect(await once()).toEqual(await once());
  });
});

/** A normal that leans to the right by so many degrees, in codes. */
function encode(degrees: number): [number, number, number] {
  const angle = (degrees * Math.PI) / 180;
  return [Math.round((Math.sin(angle) + 1) * 127.5), 128, Math.round((Math.cos(angle) + 1) * 127.5)];
}

// Barré-Brisebois and Hill, “Blending in Detail” (2012): the detail is turned by the shortest arc that takes +Z to the base
// normal. Expected values are made by that definition: axis and angle, and Rodrigues' formula.

const unit = ([x, y, z]: readonly [number, number, number]): Vector => {
  const length = Math.hypot(x, y, z);
  return [x / length, y / length, z / length];
};
const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const dot = (a: Vector, b: Vector) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

/** Turns a vector by the shortest arc from +Z to `base`. */
function turnByDefinition(base: Vector, vector: Vector): Vector {
  const across = cross([0, 0, 1], base);
  const sine = Math.hypot(...across);
  if (sine === 0) return vector;
  const axis = unit(across);
  const angle = Math.atan2(sine, base[2]);
  const beside = cross(axis, vector);
  const along = dot(axis, vector) * (1 - Math.cos(angle));
  return [0, 1, 2].map((i) => vector[i]! * Math.cos(angle) + beside[i]! * Math.sin(angle) + axis[i]! * along) as Vector;
}

const reorient = (base: Vector, detail: Vector) => reorientNormal(base, detail, [0, 0, 0]);

function expectClose(is: Readonly<Vector>, wanted: Readonly<Vector>): void {
  is.forEach((component, i) => {
    expect(component).toBeCloseTo(wanted[i]!, 10);
  });
}

describe('a reoriented normal', () => {
  it('is the detail turned as straight up is turned to the base', () => {
    const random = createRandom(7);
    const pick = (low: number) => low + (1 - low) * random.next();
    for (let n = 0; n < 500; n++) {
      const base = unit([pick(-1), pick(-1), pick(0.01)]);
      const detail = unit([pick(-1), pick(-1), pick(0.01)]);
      const is = reorient(base, detail);
      expectClose(is, turnByDefinition(base, detail));
      expect(Math.hypot(...is)).toBeCloseTo(1, 12);
    }
  });

  it('is known for a base tilted to the right, and a detail tilted to the right or up', () => {
    const [c, s] = [Math.cos(Math.PI / 6), Math.sin(Math.PI / 6)];
    // 30° and 30° the same way are 60°
    expectClose(reorient([s, 0, c], [s, 0, c]), [Math.sin(Math.PI / 3), 0, Math.cos(Math.PI / 3)]);
    expectClose(reorient([s, 0, c], [-s, 0, c]), [0, 0, 1]);
    // turned about the y axis, y stays
    expectClose(reorient([s, 0, c], [0, s, c]), [c * s, s, c * c]);
  });

  it('is the detail on a flat base, and the base under a flat detail', () => {
    const tilted = unit([0.3, -0.5, 0.8]);
    expectClose(reorient([0, 0, 1], tilted), tilted);
    expectClose(reorient(tilted, [0, 0, 1]), tilted);
  });

  it('stays finite where the base looks into the surface', () => {
    expectClose(reorient([0, 0, -1], unit([0.3, -0.5, 0.8])), [0, 0, -1]);
  });

  it('may be written over what it is made of', () => {
    const base = unit([0.3, -0.5, 0.8]);
    const detail = unit([-0.2, 0.1, 0.9]);
    const wanted = reorient(base, detail);
    const over: Vector = [...detail];
    expectClose(reorientNormal(base, over, over), wanted);
    const under: Vector = [...base];
    expectClose(reorientNormal(under, detail, under), wanted);
  });
});

// glTF 2.0, normalTextureInfo.scale: normalize((sample * 2 − 1) * vec3(scale, scale, 1)).
describe('the strength of a normal', () => {
  it('is a factor of x and y, before the length becomes 1', () => {
    expectClose(scaleNormal([0.6, 0, 0.8], 0.5), unit([0.3, 0, 0.8]));
    expectClose(scaleNormal([0.6, 0, 0.8], 0), [0, 0, 1]);
    expectClose(scaleNormal([0.6, 0, 0.8], -1), [-0.6, 0, 0.8]);
    expectClose(scaleNormal([0, 0.1, 0.1], 1), unit([0, 1, 1]));
  });

  it('is straight up where there is no direction', () => {
    expectClose(scaleNormal([0, 0, 0], 1), [0, 0, 1]);
    expectClose(scaleNormal([1, 0, 0], 0), [0, 0, 1]);
  });
});
