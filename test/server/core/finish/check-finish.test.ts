import { describe, expect, it } from 'vitest';
import { checkFinish, findMetalDistance } from '../../../../server/core/finish/check-finish.ts';
import type { Article, Finish } from '../../../../server/core/finish/finish.ts';
import { METALS } from '../../../../server/core/finish/metals.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { ARTICLES, FINISHES } from '../../../../server/demo/finishes.ts';
import { makeFinish } from '../../../support/make-finish.ts';

const check = (given: Partial<Finish>, article: Article | null = null) => {
  const finish = makeFinish('X', given);
  return checkFinish(finish, resolveFinish(finish, article), article);
};
const said = (given: Partial<Finish>) => check(given).map(({ code, severity }) => `${code} ${severity}`);
const grey = (code: number) => ({ hex: `#${code.toString(16).padStart(2, '0').repeat(3)}` });
const copper = { hex: '#fad1c2' }; // IEC 61966-2-1 of .955, .637, .538.
const metal = { family: 'bare-metal', colour: copper } as const;
const glass = { family: 'glass', colour: { hex: '#ffffff' } } as const;
const volume = { thicknessMm: 6, attenuationColour: '#bcbcbc', attenuationDistanceMm: 6 };

describe('the brightness of a finish', () => {
  // Filament, material guide: non-metals sRGB 50–240 strict, from 30 tolerant; fresh snow is 243 in the Khronos 3D
  // Commerce Asset Creation Guidelines v1.0.0.
  it.each([
    [29, ['albedo-implausible warning']],
    [30, ['albedo-implausible note']],
    [49, ['albedo-implausible note']],
    [50, []],
    [240, []],
    [241, ['albedo-implausible note']],
    [243, ['albedo-implausible note']],
    [244, ['albedo-implausible warning']],
  ])('a paint of sRGB %d: %j', (code, expected) => {
    expect(said({ colour: grey(code) })).toEqual(expected);
  });

  it('is not checked for a material that light passes through', () => {
    expect(said({ ...glass, colour: { hex: '#000000' } })).toEqual([]);
  });

  it('is not checked for an unmeasured map, which counts as white until then', () => {
    const maps = { colour: 'a'.repeat(64) };
    const { colour: _, ...mapped } = makeFinish('X', { maps });
    expect(checkFinish(mapped, resolveFinish(mapped, null), null)).toEqual([]);
    expect(said({ maps, colour: { hex: '#ffffff' } })).toEqual([]);
    expect(said({ maps, colour: grey(29) })).toEqual(['albedo-implausible warning']);
    expect(said({ maps, colour: { hex: '#ffffff' }, family: 'bare-metal', metalName: 'copper' })).toEqual([]);
  });

  // Filament, material guide: metals 170–255.
  it.each([
    [169, ['metal-too-dark warning']],
    [171, []],
    [255, []],
  ])('a bare metal of sRGB %d: %j', (code, expected) => {
    expect(said({ ...metal, colour: grey(code) })).toEqual(expected);
  });

  // physicallybased.info v2.1 has red anodised aluminium as a metal of linear .6, 0, 0.
  it('has no lower limit for dyed oxide', () => {
    expect(said({ family: 'anodised', colour: { hex: '#cb0000' } })).toEqual([]);
  });
});

describe('a metal by name', () => {
  it('is compared with the table, by CIEDE2000', () => {
    expect(said({ ...metal, metalName: 'copper' })).toEqual([]);
    const gold = check({ ...metal, metalName: 'gold' });
    expect(gold).toMatchObject([{ code: 'surface-implausible', severity: 'note', expected: { atMost: 2 } }]);
    expect(gold[0]!.seen).toBeGreaterThan(10);
  });

  it('has its distance on request, and null without a name', () => {
    const of = (name: 'copper' | 'gold' | undefined) =>
      findMetalDistance(name ? { metalName: name } : {}, { baseColour: METALS.copper.f0 }, null);
    expect(of('copper')).toBe(0);
    expect(of('gold')).toBeGreaterThan(10);
    expect(of(undefined)).toBeNull();
    expect(findMetalDistance({}, { baseColour: METALS.copper.f0 }, { metalName: 'copper' })).toBe(0);
  });
});

describe('implausible combinations', () => {
  const surface = (severity: string) => [`surface-implausible ${severity}`];
  it.each<[string, Partial<Finish>, string[]]>([
    ['sheen on a metal', { ...metal, sheen: { colour: '#808080', roughness: 0.5 } }, surface('warning')],
    ['light through a metal', { ...metal, transmission: 0.5 }, surface('warning')],
    ['specular strength on a metal', { ...metal, specular: { factor: 0.5 } }, surface('note')],
    ['a volume without transmission', { volume }, surface('warning')],
    ['a volume of glass', { ...glass, volume }, []],
    ['a tint and a volume', { ...glass, colour: { hex: '#80a090' }, volume }, surface('note')],
    ['a clear coat on cloth', { family: 'textile', clearcoat: 0.5 }, surface('warning')],
    ['a clear coat on paint', { clearcoat: 1 }, []],
    ['glass with water’s index', { ...glass, ior: 1.33 }, surface('warning')],
    ['glass with diamond’s index', { ...glass, ior: 2.42 }, surface('warning')],
    ['crown glass', { ...glass, ior: 1.52 }, []],
    ['paint that emits light', { emissive: { colour: '#ffffff', strength: 2 } }, surface('warning')],
    ['paint with emission 0', { emissive: { colour: '#ffffff', strength: 0 } }, []],
    ['a diffuser that emits light', { family: 'plastic', emissive: { colour: '#ffffff', strength: 2 } }, []],
    ['roughness 0', { roughness: 0 }, surface('note')],
    ['roughness 0.02', { roughness: 0.02 }, []],
    [
      'a film with a minimum above its maximum',
      { iridescence: { factor: 1, thicknessMinNm: 500, thicknessMaxNm: 300 } },
      surface('warning'),
    ],
    ['a film with only a maximum', { iridescence: { factor: 1, thicknessMaxNm: 300 } }, []],
  ])('%s', (_, given, expected) => {
    expect(said(given)).toEqual(expected);
    for (const finding of check(given)) {
      expect(finding).toMatchObject({ where: 'finish X', place: 'Name of X' });
      expect(finding.seen).toBeDefined();
      expect(finding.expected).toBeDefined();
      expect(finding.message).not.toMatch(/undefined|null|NaN|\[object|Infinity/);
    }
  });

  it('a volume of the article counts, unless the finish removes it', () => {
    const article: Article = { article: 'A', name: 'A', family: 'paint', volume };
    expect(check({ article: 'A' }, article)).toHaveLength(1);
    expect(check({ article: 'A', volume: null }, article)).toEqual([]);
  });

  it('are not checked in a material from a model', () => {
    expect(said({ roughness: 0, colour: grey(0), supplied: { file: 'a'.repeat(64) } })).toEqual([]);
  });

  it('do not occur in the demo, except for near-blacks, which are notes', () => {
    const findings = FINISHES.flatMap((finish) => {
      const article = ARTICLES.find((candidate) => candidate.article === finish.article) ?? null;
      return checkFinish(finish, resolveFinish(finish, article), article);
    });
    expect(findings.filter(({ severity }) => severity !== 'note')).toEqual([]);
    expect(new Set(findings.map(({ code }) => code))).toEqual(new Set(['albedo-implausible']));
  });
});
