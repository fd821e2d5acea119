import { describe, expect, it } from 'vitest';
import { findPrefix, readMaterialWord } from '../../../../server/core/product/check-metal.ts';
import type { SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import {
  channel,
  check,
  findAll,
  makeContent,
  makeGoodSurvey,
  withColourMap,
  withMaterial,
} from '../../../support/make-model-check.ts';

type Factors = SurveyedMaterial['factors'];

/** How surely a material is reported as wrongly metal. `blue` is a metalness map: mean and spread. */
function judgeMetal(
  given: Partial<SurveyedMaterial> & { readonly factors: Factors },
  { blue, deltaE }: { blue?: readonly [number, number]; deltaE?: number } = {},
) {
  let survey = withMaterial(makeGoodSurvey(), { name: 'Material', nodes: ['Cube'] });
  if (deltaE !== undefined)
    survey = withColourMap(survey, { colour: { hex: '#a08060', deltaE }, linearMean: [0.5, 0.4, 0.3] });
  const maps = survey.materials[0]!.maps.filter(({ use }) => blue !== undefined || !use.includes('metallic'));
  const [first, ...others] = survey.images;
  const content = makeContent({ channels: [channel(1, 0), channel(0.8, 0.05), channel(...(blue ?? [0, 0]))] });
  survey = withMaterial({ ...survey, images: [{ ...first!, content }, ...others] }, { maps, ...given });
  return findAll(check(survey), 'metal-on-nonmetal')[0]?.severity ?? null;
}

const isFlagged = (...given: Parameters<typeof judgeMetal>) => judgeMetal(...given) !== null;

const factors = (metallic: number, roughness: number, hue: readonly [number, number, number] = [1, 1, 1]): Factors => ({
  metallic,
  roughness,
  baseColor: [...hue, 1],
});

// Base colours of metals in linear light: physicallybased.info 2.1 (CC0), with gold's red clamped to 1. Its chromium is
// bluish.
const METALS = {
  aluminium: [0.916, 0.923, 0.924],
  brass: [0.91, 0.778, 0.423],
  chromium: [0.654, 0.685, 0.701],
  copper: [0.932, 0.623, 0.522],
  gold: [1, 0.773, 0.307],
  iron: [0.53, 0.513, 0.494],
  nickel: [0.697, 0.641, 0.563],
  platinum: [0.765, 0.73, 0.676],
} as const;

describe('a wrongly metal material', () => {
  it.each(['Oak natural', 'FABRIC_03', 'Kunstleder schwarz', 'SeatUpholstery', 'Bois de chêne', 'Plastica'])(
    'is found by the name %s, at any colour and gloss',
    (name) => {
      expect(isFlagged({ name, factors: factors(1, 0.3) })).toBe(true);
      expect(isFlagged({ name, factors: factors(0.3, 0.3) })).toBe(true);
      expect(isFlagged({ name, factors: factors(0.05, 0.3) })).toBe(false);
    },
  );

  it.each(['Chrome', 'Messing gebürstet', 'Steel legs', 'laiton', 'Edelstahl', 'Iron', 'Metal wood insert', 'Ottone'])(
    'is not found if the name is %s',
    (name) => {
      expect(isFlagged({ name, factors: factors(1, 1) })).toBe(false);
    },
  );

  it('is found by the parts of a nameless material, but its own name wins', () => {
    expect(isFlagged({ name: '', nodes: ['Cushion'], factors: factors(1, 0.3) })).toBe(true);
    expect(isFlagged({ name: 'Chrome', nodes: ['Cushion'], factors: factors(1, 0.3) })).toBe(false);
    expect(isFlagged({ name: '', nodes: ['Cushion', 'Steel button'], factors: factors(1, 0.3) })).toBe(false);
  });

  // glTF 2.0: metallicFactor and roughnessFactor default to 1.
  it('is found if both factors are glTF’s defaults and no map tells otherwise', () => {
    expect(isFlagged({ factors: factors(1, 1) })).toBe(true);
    expect(isFlagged({ factors: factors(1, 1) }, { deltaE: 20 })).toBe(true);
    expect(isFlagged({ factors: factors(1, 1) }, { blue: [0, 0] })).toBe(false);
  });

  it('is found in a map that is metal all over a patterned, matt part, not in one that separates areas', () => {
    expect(isFlagged({ factors: factors(1, 0.8) }, { blue: [1, 0], deltaE: 20 })).toBe(true);
    expect(isFlagged({ factors: factors(1, 0.8) }, { blue: [0.5, 0.5], deltaE: 20 })).toBe(false);
  });

  it('is not found in a wooden part with a few screws in its map', () => {
    expect(isFlagged({ name: 'Oak', factors: factors(1, 1) }, { blue: [0.15, 0.35] })).toBe(false);
    expect(isFlagged({ name: 'Oak', factors: factors(1, 1) }, { blue: [0.9, 0.2] })).toBe(true);
  });

  it.each(Object.entries(METALS))('is not found in %s, brushed', (_, hue) => {
    expect(isFlagged({ factors: factors(1, 0.6, hue) })).toBe(false);
  });

  // No bare metal has one of these colours (sRGB #1e3c78, #285a28, #281e14) and is this matt.
  it.each([
    ['blue', [0.013, 0.045, 0.188]],
    ['green', [0.021, 0.102, 0.021]],
    ['dark brown', [0.021, 0.013, 0.007]],
  ] as const)('is found in matt %s', (_, hue) => {
    expect(isFlagged({ factors: factors(1, 0.6, hue) })).toBe(true);
    // Glossy: anodised or plated.
    expect(isFlagged({ factors: factors(1, 0.2, hue) })).toBe(false);
  });

  // A warning proposes the repair; a note does not.
  it('is a note if only a name speaks against a metal’s colour and gloss', () => {
    expect(judgeMetal({ name: 'Plastic 2', factors: factors(1, 0.3, METALS.copper) })).toBe('note');
    expect(judgeMetal({ name: 'Plastic 2', factors: factors(1, 0.6, METALS.copper) })).toBe('warning');
    expect(judgeMetal({ name: 'Plastic 2', factors: factors(1, 0.3, [0.021, 0.102, 0.021]) })).toBe('warning');
  });

  it('is a note if no name tells and the factors are not glTF’s defaults: it may be rusty or blackened', () => {
    expect(judgeMetal({ factors: factors(1, 0.6, [0.021, 0.102, 0.021]) })).toBe('note');
    expect(judgeMetal({ factors: factors(1, 1) }, { blue: [1, 0], deltaE: 20 })).toBe('note');
    expect(judgeMetal({ factors: factors(1, 1) })).toBe('warning');
    // An atlas of several substances under one factor.
    expect(judgeMetal({ factors: factors(1, 0.6) }, { deltaE: 20 })).toBe('warning');
  });

  // Names and factors of the Khronos sample asset GlamVelvetSofa (CC BY 4.0): the feet are copper.
  it('ignores the name of the product', () => {
    const names = ['GlamVelvetSofa_feet', 'GlamVelvetSofa_legs'];
    const survey = makeGoodSurvey();
    const sofa = {
      ...survey,
      materials: survey.materials.map((material, index) => ({
        ...material,
        name: names[index]!,
        nodes: [names[index]!],
        maps: [],
        factors: index === 0 ? factors(1, 0.4, [1, 0.8, 0.7]) : factors(0, 0.4, [0.02, 0.02, 0.02]),
      })),
    };
    expect(findAll(check(sofa), 'metal-on-nonmetal')).toEqual([]);
  });

  it('ignores one part of many', () => {
    const nodes = ['Body', 'Lid', 'Cushion'];
    expect(isFlagged({ name: '', nodes, factors: factors(1, 0.3) })).toBe(false);
    // In glTF's sense of a mesh, not the cloth maker's.
    expect(isFlagged({ name: '', nodes: ['trigger_mesh', 'menu_mesh'], factors: factors(0.5, 0.55) })).toBe(false);
  });

  it('is not found without metalness, whatever the name', () => {
    expect(isFlagged({ name: 'Oak', factors: factors(0, 1) })).toBe(false);
  });
});

describe('material words', () => {
  it.each([
    ['Eichenholzfuß', 'other'],
    ['frame', null],
    ['Rame', 'metal'],
    ['nonmetal', null],
    ['Gesamt', null],
    ['Propeller', null],
    ['environment', null],
    ['StahlrohrVerchromt', 'metal'],
    ['Latón', 'metal'],
    ['Hêtre massif', 'other'],
    ['M_042', null],
    ['漆', null],
    ['Body_Mesh', null],
    ['Problem area', null],
    ['Kitchenette', null],
    ['Mirror glass', 'metal'],
    ['stained_glass_lamp_hardware', 'metal'],
  ] as const)('%s: %s', (name, word) => {
    expect(readMaterialWord(name)).toBe(word);
  });

  it('name the product if all names share them, but not if they share only a material', () => {
    expect([...findPrefix(['GlamVelvetSofa_legs', 'GlamVelvetSofa_fabric_navy'])]).toEqual(['glam', 'velvet', 'sofa']);
    expect(readMaterialWord('GlamVelvetSofa_legs', new Set(['glam', 'velvet', 'sofa']))).toBeNull();
    expect(findPrefix(['Oak light', 'Oak dark']).size).toBe(0);
    expect(findPrefix(['Mat_Oak_light', 'Mat_Oak_dark']).size).toBe(0);
    expect(findPrefix(['GlamVelvetSofa']).size).toBe(0);
    // No other word is left.
    expect(readMaterialWord('Velvet_01', new Set(['velvet']))).toBe('other');
  });
});
