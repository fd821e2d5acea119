import { describe, expect, it } from 'vitest';
import type { Article } from '../../server/core/finish/finish.ts';
import { glossFromRoughness } from '../../server/core/gloss/gloss-fit.ts';
import type { FinishAnswer } from '../../server/http/contracts/finish.ts';
import { readNumber, readNumbers } from '../../web/format.ts';
import { NEW_COLOUR, toColour, toColourForm } from '../../web/pages/finishes/colour-form.ts';
import {
  type Draft,
  describeDistance,
  describeGloss,
  resolveDraft,
  toCssColour,
} from '../../web/pages/finishes/finish-draft.ts';
import { type FinishForm, findProblem, NEW_FINISH, toBody, toForm } from '../../web/pages/finishes/finish-form.ts';
import { describeArticle } from '../../web/pages/finishes/group-finishes.ts';
import { planRepeat, planRule } from '../../web/pages/finishes/repeat-drawing.tsx';

const LINEN: Article = {
  article: 'linen',
  name: 'Linen',
  family: 'textile',
  composition: '100 % linen',
  threadsPerCm: 14,
  tile: { widthMm: 80, heightMm: 120, grainDegrees: 90 },
  maps: { colour: 'a'.repeat(64) },
  companions: { piping: 'RPW-1' },
};
const LACQUER: Article = { article: 'lacquer', name: 'Lacquer', family: 'paint', gloss: { gu60: 40 } };
const FORM: FinishForm = { ...NEW_FINISH, code: 'A', name: 'A' };

function draftOf(part: Partial<FinishForm>, articles: readonly Article[] = []): Draft {
  const { draft, problem } = resolveDraft({ ...FORM, ...part }, null, articles, () => null);
  if (!draft) throw new Error(problem);
  return draft;
}

const problemOf = (part: Partial<FinishForm>) => resolveDraft({ ...FORM, ...part }, null, [], () => null).problem;
const codes = ({ findings }: Draft) => findings.map(({ code }) => code);

describe('typed numbers', () => {
  it('may have a decimal comma and a real minus sign', () => {
    expect(readNumber(' −0,5 ')).toBe(-0.5);
    expect(readNumber('')).toBeNaN();
  });

  it('may be rows as spreadsheets and instruments write them', () => {
    for (const text of ['0.1 0.2 0.3', '0,1; 0,2; 0,3', '0.1,0.2,0.3', '0.1, 0.2,\n0.3', '0,1\t0,2\t0,3']) {
      expect(readNumbers(text)).toEqual([0.1, 0.2, 0.3]);
    }
    expect(readNumbers(' ')).toEqual([]);
  });
});

describe('a colour in the form', () => {
  it.each([
    { hex: '#2f5d73' },
    { lab: [38, -8.5, -15], illuminant: 'D65', observer: '10deg', geometry: 'di:8' },
    { xyz: [10, 11.25, 12], illuminant: 'D50', observer: '2deg' },
    { spectrum: { startNm: 380, stepNm: 20, values: [0.05, 0.061, 0.25] }, geometry: '45:0' },
  ] as const)('comes out as it went in: %o', (colour) => {
    expect(toColour(toColourForm({ colour: colour as never }, '#000000'))).toEqual(colour);
  });

  it('keeps the typed values when another way of stating the colour is chosen', () => {
    const lab = toColourForm({ colour: { lab: [38, -8, -15], illuminant: 'D65', observer: '2deg' } }, '#2f5d73');
    expect(toColour({ ...lab, way: 'hex' })).toEqual({ hex: '#2f5d73' });
    expect(NEW_COLOUR.way).toBe('hex');
  });
});

describe('a finish in its form', () => {
  const before = {
    finish: 'TRN',
    name: 'Tarn',
    names: { de: 'Bergsee', fr: 'Lac' },
    family: 'textile',
    article: 'linen',
    reference: { system: 'House', code: '12', texture: 'fine' },
    colour: { hex: '#2f5d73' },
    display: { hex: '#2f5d74' },
    sheen: null,
    transmission: 0,
    clearcoat: 0.5,
    clearcoatRoughness: 0.1,
    ior: 1.45,
    roughness: 0.5,
    gloss: { gu60: 20, gu85: 30 },
    metal: false,
    maps: { normal: 'b'.repeat(64) },
    tile: { widthMm: 80, heightMm: 60, grainDegrees: -45 },
    supplier: 'Mill',
    note: 'Two lines,\nand a comma',
    tags: ['warm', 'outdoor'],
    status: 'planned',
    companions: { cord: 'RPW-2' },
    revision: 3,
    resolved: { hex: '#2f5d73' },
  } as unknown as FinishAnswer;

  it('is unchanged by the form, with every field that it can have', () => {
    const { finish: _, revision: __, resolved: ___, ...rest } = before;
    expect(toBody(toForm(before), before)).toEqual(rest);
  });

  it('keeps a stated colour that no field shows, if the colour comes from the map', () => {
    const mapped = { ...before, maps: { colour: 'b'.repeat(64) }, colourFrom: 'map' } as const;
    expect(toBody({ ...toForm(mapped), note: 'another' }, mapped)).toMatchObject({
      colour: { hex: '#2f5d73' },
      colourFrom: 'map',
    });
    // a finish whose colour now comes from the map states no colour
    const changed = toBody(
      { ...toForm(before), maps: { ...toForm(before).maps, colour: 'b'.repeat(64) }, colourFrom: 'map' },
      before,
    );
    expect(changed).not.toHaveProperty('colour');
  });

  it('leaves out emptied fields', () => {
    const emptied = {
      names: [['', '']],
      tags: ' , ',
      note: ' ',
      system: '',
      systemCode: '',
      texture: '',
      display: '',
      companions: [],
      maps: { colour: '', normal: '', roughness: '' },
      widthMm: '',
      heightMm: '',
      grainDegrees: '',
      gu60: '',
      gu85: '',
    } as const;
    const body = toBody({ ...toForm(before), ...emptied }, before);
    for (const key of ['names', 'tags', 'note', 'reference', 'display', 'companions', 'maps', 'tile', 'gloss']) {
      expect(body).not.toHaveProperty(key);
    }
  });

  it.each([
    [{ names: [['german', 'Grün']] }, 'language'],
    [{ names: [['de', '']] }, 'name in de'],
    [
      {
        names: [
          ['de', 'Grün'],
          ['de', 'Grau'],
        ],
      },
      'two rows',
    ],
    [{ display: 'red' }, 'screen colour'],
    [{ companions: [['Piping', 'A']] }, 'companion'],
    [{ tags: 'x'.repeat(65) }, 'tag'],
    [{ widthMm: '300' }, 'width and a height'],
    [{ grainDegrees: '20' }, 'width and a height'],
    [{ widthMm: '0', heightMm: '20' }, 'greater than 0 mm'],
    [{ ior: '0.9' }, 'index'],
    [{ gu20: '-1' }, '0 GU or more'],
    [{ way: 'spectrum', reflectance: '' }, 'reflectance'],
    [{ way: 'xyz' }, 'XYZ'],
  ] as [Partial<FinishForm>, string][])('is not stored with %o, and says why', (part, words) => {
    expect(findProblem({ ...FORM, ...part })).toContain(words);
  });
});

describe('a form before it is saved', () => {
  it('is resolved and checked as in the service', () => {
    const draft = draftOf({ way: 'lab', lab: ['50', '90', '−60'], viewing: 'D65/10deg', gu60: '95' });
    // an unreachable gloss is delivered as a mirror, which is a finding as well
    expect(codes(draft)).toEqual(['out-of-gamut', 'colour-estimated', 'gloss-out-of-reach', 'surface-implausible']);
    expect(draft.resolved.outOfGamutDeltaE).toBeGreaterThan(3);
    expect(codes(draftOf({ hex: '#050505' }))).toEqual(['albedo-implausible']);
  });

  it('needs no code and no name', () => {
    expect(draftOf({ code: '', name: '' }).finish.finish).toBe('NEW');
  });

  it('is refused with the message of the service for an impossible value', () => {
    expect(problemOf({ way: 'lab', lab: ['150', '0', '0'] })).toContain('from 0 to 100');
    expect(problemOf({ way: 'spectrum', startNm: '400', reflectance: '50 60 70' })).toBeTruthy();
    expect(problemOf({ hex: '#2f5d7' })).toContain('six hexadecimal digits');
  });

  it('inherits missing values from the article, and ignores the case of its code', () => {
    const draft = draftOf({ family: 'textile', article: 'LINEN' }, [LINEN]);
    expect(draft.resolved.tile).toEqual(LINEN.tile);
    expect(draft.article).toBe(LINEN);
  });
});

describe('the distance', () => {
  it('is zero inside sRGB, and within the tolerance', () => {
    const { verdict, details } = describeDistance(draftOf({ hex: '#2f5d73' }));
    expect(verdict).toBe('ΔE00 0.0 between specified and delivered, within the tolerance of the family.');
    expect(details).toHaveLength(1);
    expect(details[0]).toContain('CIELAB ΔE*ab 0.0, limit 2');
  });

  it('is judged outside sRGB by the formula of the family, with the range of an estimate', () => {
    const far = { way: 'lab', lab: ['50', '90', '-60'], viewing: 'D65/10deg' } as const;
    const paint = describeDistance(draftOf(far));
    expect(paint.verdict).toMatch(/^ΔE00 \d\.\d .*, outside/);
    expect(paint.details.join(' ')).toContain('is an estimate');
    expect(describeDistance(draftOf({ ...far, family: 'textile' })).details[0]).toContain('CMC(2:1)');
    const metallic = describeDistance(draftOf({ ...far, metal: 'yes' }));
    expect(metallic.verdict).toMatch(/delivered\.$/);
    expect(metallic.details[0]).toContain('judged by eye');
  });

  // CSS Color 4 §10.7: the D65 white of XYZ is 0.95046 1 1.08906 from x 0.3127, y 0.3290
  it('is shown by chips in CSS colours, white for white', () => {
    expect(toCssColour([100, 0, 0])).toBe('color(xyz-d65 0.95046 1.00000 1.08906)');
  });
});

describe('gloss and roughness', () => {
  it('convert into each other: each field shows the value that follows from the other', () => {
    const typed = draftOf({ gu60: '40' });
    const roughness = typed.resolved.roughness;
    const { sentences, ...placeholders } = describeGloss(typed);
    expect(placeholders.roughness).toBe(String(Number(roughness.toFixed(2))));
    expect(sentences[0]).toBe(`40 GU at 60° gives the surface a roughness of ${placeholders.roughness}.`);
    expect(sentences[1]).toContain('±7 GU at 60° (Qualicoat');
    const back = draftOf({ roughness: String(roughness) });
    expect(describeGloss(back).gu60).toBe('40');
    expect(describeGloss(back).sentences[0]).toContain('A meter reads 40 GU at 60°.');
    expect(describeGloss(back).sentences[1]).toContain('±7 GU at 60°');
  });

  it('state the basis of each conversion', () => {
    for (const part of [{ gu60: '40' }, {}, { gu60: '60', clearcoat: '1' }]) {
      expect(describeGloss(draftOf(part)).sentences.at(-1)).toMatch(/commonly quoted for ISO 2813 and not checked/);
    }
    expect(describeGloss(draftOf({ family: 'textile' })).sentences.join(' ')).not.toContain('commonly quoted');
  });

  it('state the roughness at both ends of the tolerance, where a meter reads that much more or less', () => {
    const draft = draftOf({ gu60: '20' });
    const [, smooth, rough] = /which is a roughness of ([\d.]+)–([\d.]+)\./.exec(describeGloss(draft).sentences[1]!)!;
    const ground = { ior: draft.resolved.ior, luminance: draft.resolved.baseColour[1] };
    expect(glossFromRoughness(Number(smooth), 60, ground)).toBeGreaterThan(23);
    expect(glossFromRoughness(Number(rough), 60, ground)).toBeLessThan(17);
  });

  it('recommend the angle that distinguishes this gloss, until a reading at it is given', () => {
    expect(describeGloss(draftOf({ gu60: '80' })).sentences.join(' ')).toContain('Readings at 20° distinguish');
    expect(describeGloss(draftOf({ gu60: '80', gu20: '55' })).sentences.join(' ')).not.toContain('ASTM D523');
    expect(describeGloss(draftOf({ gu60: '6' })).sentences.join(' ')).toContain('Readings at 85° distinguish');
  });

  it('describe the clear coat if there is one', () => {
    const draft = draftOf({ gu60: '60', clearcoat: '1' });
    const { sentences, clearcoatRoughness } = describeGloss(draft);
    expect(sentences[0]).toContain(`gives the clear coat a roughness of ${clearcoatRoughness}`);
    expect(Number(clearcoatRoughness)).toBeCloseTo(draft.resolved.clearcoatRoughness, 2);
  });

  it('state which of the two applies, and the source of a reading', () => {
    expect(describeGloss(draftOf({ gu60: '40', roughness: '0.3' })).sentences.join(' ')).toContain(
      'overrides the gloss reading',
    );
    expect(describeGloss(draftOf({ article: 'lacquer' }, [LACQUER])).sentences[0]).toContain(
      'The article’s reading of 40 GU',
    );
    expect(describeGloss(draftOf({})).sentences[0]).toMatch(
      /^The roughness of the surface is [\d.]+, from the family\./,
    );
  });

  it('state that no gloss applies, and leave impossible values to the findings', () => {
    const cloth = describeGloss(draftOf({ family: 'textile' }));
    expect(cloth.gu60).toBe('');
    expect(cloth.sentences).toEqual([
      expect.stringMatching(/^Gloss readings do not apply to this surface\. Cloth scatters light/),
    ]);
    const read = draftOf({ family: 'textile', gu60: '20' });
    expect(describeGloss(read).sentences).toEqual([]);
    expect(codes(read)).toEqual(['gloss-not-read']);
    expect(describeGloss(draftOf({ gu60: '99' })).sentences).toEqual([]);
  });
});

describe('the drawing of a repeat', () => {
  const MOST = { width: 300, height: 300 };

  it('has true proportions, and fits', () => {
    const { repeat, scale, width, height } = planRepeat({ widthMm: 120, heightMm: 240 }, MOST);
    expect(repeat.height / repeat.width).toBeCloseTo(2, 10);
    expect(repeat.width).toBeCloseTo(120 * scale, 10);
    expect(Math.max(width / MOST.width, height / MOST.height)).toBeCloseTo(1, 10);
  });

  it('turns by a quarter, and by 45° if it is square', () => {
    const lying = planRepeat({ widthMm: 120, heightMm: 240, grainDegrees: 90 }, MOST);
    expect(lying.degrees).toBe(90);
    expect(lying.width).toBeGreaterThan(lying.height);
    const corner = planRepeat({ widthMm: 100, heightMm: 100, grainDegrees: 45 }, MOST);
    expect(corner.across.lengthMm).toBeCloseTo(100 * Math.SQRT2 + 24, 6);
  });

  it('turns only by quarters if it is not square, as in deliveries', () => {
    const degrees = (grainDegrees: number) => planRepeat({ widthMm: 80, heightMm: 60, grainDegrees }, MOST).degrees;
    expect([30, 50, -90, -1, 359].map(degrees)).toEqual([0, 90, 270, 0, 0]);
  });

  it.each([0.02, 0.7, 1, 3.3, 40])('has numbers that can be read, at %f units to the mm', (scale) => {
    const { marks } = planRule(300 / scale, scale);
    const numbers = marks.filter(({ numbered }) => numbered).map(({ mm }) => mm);
    expect(numbers.length).toBeGreaterThan(2);
    const step = numbers[1]!;
    expect([1, 2, 5]).toContain(Number(step.toExponential().split('e')[0]));
    expect(step * scale).toBeGreaterThanOrEqual(34 - 1e-9);
    expect((marks[1]!.mm - marks[0]!.mm) * scale).toBeGreaterThanOrEqual(5);
    expect(marks[0]).toEqual({ mm: 0, numbered: true });
  });
});

it('describes the properties that an article states, and no others', () => {
  expect(describeArticle(LINEN)).toEqual([
    '100 % linen.',
    'Repeat 80 × 120 mm, direction 90°; 14 threads per cm.',
    'Companion: RPW-1 on piping.',
  ]);
  expect(describeArticle({ article: 'x', name: 'X', family: 'paint' })).toEqual([]);
});
