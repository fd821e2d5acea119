import { describe, expect, it } from 'vitest';
import { transmittance } from '../../../../server/core/finish/check-finish.ts';
import type { CodeCounts } from '../../../../server/core/finish/level-map.ts';
import { chooseColourSource } from '../../../../server/core/finish/resolve-finish.ts';

// Half of the texels have code 100, half code 160. Their mean in linear light is (0.1274 + 0.3515) / 2 = 0.2394, code
// 134 (IEC 61966-2-1, by hand).
const count = Array.from({ length: 256 }, (_, code) => (code === 100 || code === 160 ? 8 : 0));
const CODES: CodeCounts = [count, count, count];
const from = (finish: Parameters<typeof chooseColourSource>[0], codes: CodeCounts | null = CODES, hasMap = true) =>
  chooseColourSource(finish, hasMap, codes).from;

describe('the source of a finish’s colour', () => {
  it('is the finish’s own setting', () => {
    expect(from({ colour: { hex: '#2f5d73' }, colourFrom: 'map' })).toBe('map');
    expect(from({ colour: { hex: '#868686' }, colourFrom: 'specification' })).toBe('specification');
    expect(from({ colour: { hex: '#ffffff' }, colourFrom: 'specification' })).toBe('specification');
  });

  it('is the specification if a colour other than the map’s own is given', () => {
    expect(from({ colour: { hex: '#2f5d73' } })).toBe('specification');
    expect(from({ colour: { lab: [62, -6.8, 15.3], illuminant: 'D65', observer: '2deg' } })).toBe('specification');
  });

  it('is the map if there is no colour, or only white, or the map’s own mean', () => {
    expect(from({})).toBe('map');
    expect(from({ colour: { hex: '#ffffff' } })).toBe('map');
    expect(from({ colour: { hex: '#868686' } })).toBe('map');
    // The neighbouring code is ΔE00 0.4 away, which is invisible.
    expect(from({ colour: { hex: '#878787' } })).toBe('map');
    expect(from({ colour: { hex: '#8a8a8a' } })).toBe('specification');
  });

  it('is the specification if the map is not measured, or if there is none', () => {
    expect(from({ colour: { hex: '#868686' } }, null)).toBe('specification');
    expect(from({ colour: { hex: '#ffffff' } }, null, false)).toBe('specification');
    expect(from({ colour: { hex: '#2f5d73' }, colourFrom: 'map' }, null, false)).toBe('specification');
  });

  it('ignores white in the specification', () => {
    expect(chooseColourSource({ colour: { hex: '#ffffff' } }, true, CODES).colour).toBeNull();
    expect(chooseColourSource({ colour: { hex: '#2f5d73' }, colourFrom: 'map' }, true, CODES).colour).toEqual({
      hex: '#2f5d73',
    });
  });
});

describe('light through a body', () => {
  // T(x) = c ^ (x / d): KhronosGroup/glTF, extensions/2.0/Khronos/KHR_materials_volume/README.md, Attenuation; by hand.
  it.each([
    [0.5, 0.006, 0.006, 0.5],
    [0.5, 0.006, 0.003, Math.SQRT1_2],
    [0.5, 0.006, 0.012, 0.25],
    [0.8, 0.02, 0.01, 0.89442719],
  ])('of colour %d after %d m is, after %d m, %d', (c, attenuationDistance, path, expected) => {
    const left = transmittance({ attenuationColour: [c, 1, 0], attenuationDistance }, path);
    expect(left[0]).toBeCloseTo(expected, 8);
    expect(left.slice(1)).toEqual([1, 0]);
  });
});
