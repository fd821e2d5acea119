import { describe, expect, it } from 'vitest';
import {
  exactReflectance,
  f0FromIor,
  iorFromF0,
  schlick,
  schlickReflectance,
} from '../../../../server/core/gloss/fresnel.ts';

describe('reflectance of a smooth dielectric', () => {
  it('is exact by Fresnel: 0.0892 at 60° for 1.5, 0.1001 for the black glass of ISO 2813', () => {
    expect(exactReflectance(1.5, 60)).toBeCloseTo(0.0892, 4);
    expect(exactReflectance(1.567, 60)).toBeCloseTo(0.1001, 4);
  });

  it('is lower by Schlick at 60° (glTF 2.0, Appendix B): 0.070 and 0.0785', () => {
    expect(schlickReflectance(1.5, 60)).toBeCloseTo(0.07, 6);
    expect(schlickReflectance(1.567, 60)).toBeCloseTo(0.0785, 4);
  });

  // Brewster's angle: tan θ = n, where one polarisation vanishes and the other is ((n² − 1) / (n² + 1))²
  it('keeps only one polarisation at Brewster’s angle', () => {
    const brewster = (Math.atan(1.5) * 180) / Math.PI;
    expect(exactReflectance(1.5, brewster)).toBeCloseTo((1.25 / 3.25) ** 2 / 2, 12);
  });

  it.each([1.33, 1.5, 1.567, 2.42])('is the same by both formulae at 0° and at 90° for index %d', (ior) => {
    expect(exactReflectance(ior, 0)).toBeCloseTo(f0FromIor(ior), 12);
    expect(schlickReflectance(ior, 0)).toBeCloseTo(f0FromIor(ior), 12);
    expect(exactReflectance(ior, 90)).toBeCloseTo(1, 12);
    expect(schlickReflectance(ior, 90)).toBeCloseTo(1, 12);
  });

  // glTF 2.0, Appendix B: 0.04 + (1 − 0.04) (1 − |V·H|)⁵
  it('is Schlick’s with f90 = 1', () => {
    expect(schlick(0.04, 0.5)).toBeCloseTo(0.04 + 0.96 / 32, 12);
    expect(schlick(0.04, -0.5)).toBe(schlick(0.04, 0.5));
  });
});

describe('reflectance at normal incidence by index', () => {
  // indices: the table of the README of KHR_materials_ior; F0 = ((n − 1) / (n + 1))²
  it.each([
    ['air', 1, 0],
    ['water', 1.33, 0.0201],
    ['eyes', 1.38, 0.0255],
    ['glTF where nothing is said', 1.5, 0.04],
    ['window glass', 1.52, 0.0426],
    ['black glass of ISO 2813', 1.567, 0.0488],
    ['sapphire', 1.76, 0.0758],
    ['diamond', 2.42, 0.1724],
  ] as const)('of %s (%d) is %d', (_, ior, f0) => {
    expect(f0FromIor(ior)).toBeCloseTo(f0, 4);
    expect(iorFromF0(f0FromIor(ior))).toBeCloseTo(ior, 12);
  });

  it('is 1 for index 0, the compatibility value of KHR_materials_ior', () => {
    expect(f0FromIor(0)).toBe(1);
  });
});
