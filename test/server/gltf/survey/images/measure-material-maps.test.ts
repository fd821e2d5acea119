import { expect, it } from 'vitest';
import { isPlainRelief } from '../../../../../server/core/product/slot-defaults.ts';
import { countRepeats, measureRelief } from '../../../../../server/gltf/survey/images/measure-material-maps.ts';
import { readPixels } from '../../../../../server/images/image-codec.ts';
import { makeNormalPng, normalOf } from '../../../../support/make-normals.ts';

// Normals of reliefs whose slopes are known by hand. A ridge of slope s·cos has a root mean square of s/√2 along its axis;
// the components of unit normals are s/√(1 + s²), nearly s where slopes are slight.

const SIDE_PX = 256;
/** The map is half a metre wide, so that a patch of 12 mm is about six texels. */
const SIDE_M = 0.5;
/** 64 threads each way: two texels up, two down. */
const THREADS = 64;
const SLOPE = 0.1;

const weave = (u: number, v: number) =>
  [SLOPE * Math.cos(2 * Math.PI * THREADS * u), SLOPE * Math.cos(2 * Math.PI * THREADS * v)] as const;
const measure = async (slope: (u: number, v: number) => readonly [number, number], strength = 1) => {
  const png = await makeNormalPng([SIDE_PX, SIDE_PX], (u, v) => normalOf(...slope(u, v)));
  const facts = measureRelief(await readPixels(png), null, SIDE_M, strength)!;
  return { ...facts, repeats: 1 };
};
const degrees = (slope: number) => (slope * 180) / Math.PI;

it('a weave has the slope of its threads everywhere, and its patches lie level', async () => {
  const facts = await measure(weave);
  // two directions of SLOPE/√2 each
  expect(facts.middleDegrees).toBeGreaterThan(degrees(SLOPE) * 0.9);
  expect(facts.middleDegrees).toBeLessThan(degrees(SLOPE) * 1.1);
  expect(facts.steepDegrees / facts.middleDegrees).toBeLessThan(1.3);
  // patches cut off at part of a thread lean a little
  expect(facts.formDegrees).toBeLessThan(degrees(SLOPE) * 0.5);
  expect(isPlainRelief(facts)).toBe(true);
});

it('is as strong as the material has it', async () => {
  const [plain, weak] = [await measure(weave), await measure(weave, 0.5)];
  expect(weak.middleDegrees / plain.middleDegrees).toBeCloseTo(0.5, 6);
});

it('a seam across it stands out', async () => {
  // a groove of 15 mm, twice as steep as threads are at their steepest
  const facts = await measure((u, v) => {
    const [x, y] = weave(u, v);
    const from = (u - 0.5) * SIDE_M;
    return [x + (Math.abs(from) < 0.0075 ? 4 * SLOPE * Math.sign(from) : 0), y];
  });
  expect(facts.steepDegrees).toBeGreaterThan(2 * facts.middleDegrees);
  expect(isPlainRelief(facts)).toBe(false);
});

it('a rounded edge tilts what it goes over', async () => {
  const facts = await measure((u, v) => {
    const [x, y] = weave(u, v);
    return [x + (u > 0.9 ? 0.4 : 0), y];
  });
  expect(facts.formDegrees).toBeGreaterThan(degrees(0.3));
  expect(isPlainRelief(facts)).toBe(false);
});

it('counts repeats by what the UVs span, in the direction with fewer', () => {
  const facts = { middleDegrees: 1, steepDegrees: 1, formDegrees: 0 };
  const bounds = { min: [0, 0.25], max: [2, 0.75] } as const;
  expect(countRepeats({ ...facts, scale: [1, -8] }, bounds).repeats).toBe(2);
  expect(countRepeats({ ...facts, scale: null }, bounds).repeats).toBeNull();
});
