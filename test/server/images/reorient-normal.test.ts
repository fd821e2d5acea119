import { describe, expect, it } from 'vitest';
import { reorientNormal, scaleNormal, type Vector } from '../../../server/images/reorient-normal.ts';
import { createRandom } from '../../support/random.ts';

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
