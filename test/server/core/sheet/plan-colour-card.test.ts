import { describe, expect, it } from 'vitest';
import { TWO_DEGREE_BAND } from '../../../../server/core/colour/estimate-two-degree.ts';
import { deltaE2000 } from '../../../../server/core/colour/lab.ts';
import type { Article, Finish } from '../../../../server/core/finish/finish.ts';
import type { CodeCounts } from '../../../../server/core/finish/level-map.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import type { RangedFinish } from '../../../../server/core/line/line.ts';
import { planPanel } from '../../../../server/core/picture/swatch.ts';
import { measureTypeArea, PAPERS } from '../../../../server/core/sheet/page.ts';
import {
  CARD_MM,
  isPatterned,
  listRulerMarks,
  measureChipWidth,
  planCardPanel,
  planColourCard,
} from '../../../../server/core/sheet/plan-colour-card.ts';

const CLOTH: Article = { article: 'loop', name: 'Loop', family: 'textile', composition: '100 % wool' };
const finish = (code: string, more: Partial<Finish> = {}): Finish => ({
  finish: code,
  name: `Name of ${code}`,
  family: 'textile',
  article: 'loop',
  colour: { hex: '#2f5d73' },
  ...more,
});
const ranged = (given: Finish, grade: string | null, more: Partial<RangedFinish> = {}): RangedFinish => ({
  finish: given,
  grade,
  status: 'current',
  ...more,
});

function plan(
  range: RangedFinish[],
  paper: 'a4' | 'letter' = 'a4',
  panels = true,
  codes: (sha256: string) => CodeCounts | null = () => null,
) {
  const all = new Map(range.map((item) => [item.finish.finish, item.finish]));
  const articleOf = (code: string) => (all.get(code)!.article ? CLOTH : null);
  const source = {
    line: { line: 'L', name: 'Line' },
    range,
    resolve: (code: string) => resolveFinish(all.get(code)!, articleOf(code), codes),
    articleOf,
    date: '2026-11-26',
    panels,
  };
  return planColourCard(source, { paper, bleedMm: 0, press: false });
}

const groupsOf = (card: ReturnType<typeof plan>) => card.pages.flat().flatMap(({ groups }) => groups);
const chipsOf = (card: ReturnType<typeof plan>) => groupsOf(card).flatMap(({ chips }) => chips);

it('is ordered by article, then by grade, in the order of the range, without finishes that are not sold', () => {
  const card = plan([
    ranged(finish('A-1'), 'B'),
    ranged(finish('P-1', { family: 'paint', article: undefined }), 'A'),
    ranged(finish('A-2'), 'A'),
    ranged(finish('A-3'), 'B'),
    ranged(finish('A-4'), 'A', { status: 'planned' }),
    ranged(finish('A-5'), 'A', { status: 'discontinued' }),
    ranged(finish('A-6'), 'B', { status: 'phase-out', lastOrder: '2027-03-31' }),
  ]);
  const words = card.pages
    .flat()
    .map(({ groups }) =>
      groups.map(
        ({ title, continued, column, chips }) =>
          `${column} ${title}${continued ? '…' : ''}: ${chips.map((chip) => chip.finish).join(' ')}`,
      ),
    );
  expect(words).toEqual([['0 Loop: A-1 A-3 A-6 A-2'], ['0 Paint: P-1']]);
  expect(chipsOf(card).map(({ lines }) => lines[0])).toEqual([
    'A-1 · grade B',
    'A-3 · grade B',
    'A-6 · grade B · until 2027-03-31',
    'A-2 · grade A',
    'P-1 · grade A',
  ]);
  expect(card.finishes).toBe(5);
});

it('fills its rows: a group begins beside the one before, and continues in the next row under its title again', () => {
  const card = plan([
    ranged(finish('P-1', { family: 'paint', article: undefined }), null),
    ranged(finish('P-2', { family: 'paint', article: undefined }), null),
    ...Array.from({ length: 7 }, (_, i) => ranged(finish(`A-${i}`), null)),
  ]);
  const rows = card.pages.flat().map(({ headingMm, groups }) => ({
    headed: headingMm > 0,
    groups: groups.map(({ title, detail, continued, column, chips }) => [
      title,
      detail,
      continued,
      column,
      chips.length,
    ]),
  }));
  const detail = 'Textile · 100 % wool';
  expect(rows).toEqual([
    {
      headed: true,
      groups: [
        ['Paint', '', false, 0, 2],
        ['Loop', detail, false, 2, 2],
      ],
    },
    // the heading is visible
    { headed: false, groups: [['Loop', '', true, 0, 4]] },
    { headed: false, groups: [['Loop', '', true, 0, 1]] },
  ]);
});

describe.each(['a4', 'letter'] as const)('on %s', (paper) => {
  // the longest text of a finish: a conversion, a metal, an estimate; each in its own article
  const longest = (code: string) =>
    finish(code, {
      family: 'bare-metal',
      article: code,
      colour: { lab: [61.4, -7.9, 10.6], illuminant: 'D50', observer: '10deg', geometry: 'di:8' },
    });
  const article = (code: string): Article => ({
    article: code,
    name: 'An article whose name takes two lines',
    family: 'bare-metal',
    composition: 'a description that is longer than two lines of small print over a single field of colour',
  });
  const planLongest = (count: number, give: (code: string) => Finish = longest) => {
    const range = Array.from({ length: count }, (_, i) => ranged(give(`M-${i}`), 'A'));
    const all = new Map(range.map((item) => [item.finish.finish, item.finish]));
    return planColourCard(
      {
        line: { line: 'L', name: 'Line' },
        range,
        resolve: (code) => resolveFinish(all.get(code)!, article(code)),
        articleOf: article,
        date: '2026-11-26',
        panels: true,
      },
      { paper, bleedMm: 0, press: false },
    );
  };

  it('fifteen finishes fit one page, whatever text each of them has', () => {
    const card = planLongest(15);
    expect(Math.max(...chipsOf(card).map(({ lines }) => lines.length))).toBe(6);
    expect(card.pages).toHaveLength(1);
    const { heightMm } = measureTypeArea(paper);
    for (const row of card.pages[0]!) expect(row.topMm + row.heightMm).toBeLessThanOrEqual(heightMm);
  });

  it('fields are as high as possible without a further page', () => {
    const short = planLongest(15, (code) => finish(code, { article: code, colour: { hex: '#2f5d73' } }));
    expect(short.pages).toHaveLength(1);
    expect(short.fieldMm).toBeGreaterThan(planLongest(15).fieldMm);
    expect(planLongest(4).fieldMm).toBe(Math.max(...CARD_MM.fields));
  });
});

describe('every field states the specified colour, the printed colour, and their distance', () => {
  it('by CIEDE2000 of the delivered colour', () => {
    const lab = [38.1, -8.2, -15.4] as const;
    const [chip] = chipsOf(
      plan([ranged(finish('A-1', { colour: { lab, illuminant: 'D65', observer: '2deg' } }), null)]),
    );
    expect(chip!.lines[1]).toBe('Lab 38.1 −8.2 −15.4, D65/2°');
    // a factor has the colour without rounding; the hex beside it is the same in 8 bits
    expect(chip!.lines.join(' ')).toContain(`${chip!.hex} · ΔE00 0.0`);
    const printed = resolveFinish(finish('P', { colour: { hex: chip!.hex } }), null).specifiedLab;
    expect(deltaE2000(lab, printed)).toBeLessThan(0.5);
  });

  it('marks estimates and colours outside sRGB', () => {
    const estimated = finish('E', { colour: { lab: [50, 10, 10], illuminant: 'D65', observer: '10deg' } });
    const vivid = finish('V', { colour: { lab: [50, 110, -100], illuminant: 'D65', observer: '2deg' } });
    const [first, second] = chipsOf(plan([ranged(estimated, null), ranged(vivid, null)]));
    expect(first!.lines[1]).toBe('Lab 50 10 10, D65/10°');
    expect(first!.lines[2]).toMatch(/^as Lab \d\d\.\d \d+\.\d \d+\.\d, D65\/2°$/);
    expect(first!.lines[3]).toContain(` ± ${TWO_DEGREE_BAND.typicalDeltaE}, from 10°`);
    expect(second!.lines[2]).toMatch(/beyond sRGB$/);
  });

  it('in its original form, sRGB with its Lab in one line (D65 for 2° by IEC 61966-2-1), a metal as seen straight on', () => {
    const metal = finish('M', { family: 'bare-metal', article: undefined, colour: { hex: '#808080' } });
    const read = { lab: [38.1, -8.2, -15.4], illuminant: 'D50', observer: '2deg', geometry: '45:0' } as const;
    const card = plan([ranged(metal, null), ranged(finish('L', { colour: read }), null)]);
    const [chip, cloth] = chipsOf(card);
    // grey 128 has L* 53.585 (CIE 15 of the IEC curve)
    expect(chip!.lines.slice(1, 3)).toEqual(['#808080 as Lab 53.6 0.0 0.0', 'colour at normal incidence']);
    expect(cloth!.lines[1]).toBe('Lab 38.1 −8.2 −15.4, D50/2°, 45:0');
    expect(cloth!.lines[2]).toMatch(/^as Lab .*, D65\/2°$/);
    // each has one line more than a colour in sRGB
    expect([chip!.lines.length, cloth!.lines.length]).toEqual([5, 5]);
  });

  it('gives gloss where a meter can read it', () => {
    const paint = { family: 'paint', article: undefined, gloss: { gu60: 30 } } as const;
    const [lacquer, cloth] = chipsOf(plan([ranged(finish('P', paint), null), ranged(finish('C'), null)]));
    expect(lacquer!.lines.at(-1)).toBe('30 GU at 60°');
    expect(cloth!.lines.at(-1)).toBe('gloss by sample');
  });
});

describe('a patterned finish', () => {
  const maps = { colour: 'a'.repeat(64) };
  const tile = { widthMm: 120, heightMm: 240 };

  it('is one with maps that repeat at a stated size, not one with a supplied material', () => {
    expect(isPatterned(resolveFinish(finish('C'), null))).toBe(false);
    expect(isPatterned(resolveFinish(finish('W', { maps, tile }), null))).toBe(true);
    expect(isPatterned(resolveFinish(finish('S', { maps, tile, supplied: { file: 'b'.repeat(64) } }), null))).toBe(
      false,
    );
  });

  it('appears as a panel, with the mean of the delivered map and its distance', () => {
    // half the texels white, half black: with no factor up to 1 is their mean above 0.5 in linear light
    const half = Array.from({ length: 256 }, (_, code) => (code === 0 || code === 255 ? 32 : 0));
    const codes = (sha256: string): CodeCounts | null => (sha256 === maps.colour ? [half, half, half] : null);
    const unmeasured = { colour: 'c'.repeat(64) };
    const range = [
      ranged(finish('W', { maps, tile, colour: { hex: '#2f5d73' } }), null),
      ranged(finish('P', { maps, tile, colour: { hex: '#ffffff' }, colourFrom: 'specification' }), null),
      ranged(finish('U', { maps: unmeasured, tile }), null),
      ranged(finish('C'), null),
    ];
    const chips = new Map(chipsOf(plan(range, 'a4', true, codes)).map((chip) => [chip.finish, chip]));
    expect([...chips.values()].map(({ panel }) => panel)).toEqual(['panel W', 'panel P', 'panel U', null]);
    expect(chips.get('W')!.lines[2]).toBe('#2f5d73 · ΔE00 0.0');
    // white with a twentieth of the contrast: a mean of 1 / 1.05 in linear light, which is L* 98.1 (CIE 15)
    const [, hex, deltaE] = /^(#\w{6}) · ΔE00 ([\d.]+)$/.exec(chips.get('P')!.lines[2]!)!;
    expect(hex).toBe('#fafafa');
    expect(Math.abs(Number(deltaE) - deltaE2000([100, 0, 0], [98.13, 0, 0]))).toBeLessThan(0.1);
    expect(chips.get('U')!.lines[2]).toBe('delivered colour not measured');
    const flat = chipsOf(plan(range, 'a4', false, codes));
    expect(flat.map(({ panel }) => panel)).toEqual([null, null, null, null]);
  });
});

it('a metal appears lit beside its colour, but not on a card of flat colours', () => {
  const range = [
    ranged(finish('M', { family: 'plated', article: undefined, colour: { hex: '#c4c5c4' } }), null),
    ranged(finish('P', { family: 'paint', article: undefined }), null),
  ];
  expect(chipsOf(plan(range)).map(({ lit }) => lit)).toEqual(['lit M', null]);
  expect(chipsOf(plan(range, 'a4', false)).map(({ lit }) => lit)).toEqual([null, null]);
});

it.each(['a4', 'letter'] as const)('keeps every block inside the type area of %s', (paper) => {
  const card = plan(
    Array.from({ length: 97 }, (_, i) => ranged(finish(`A-${i}`), `G${Math.floor(i / 9)}`)),
    paper,
  );
  const { heightMm, widthMm } = measureTypeArea(paper);
  expect(card.pages.length).toBeGreaterThan(3);
  for (const block of card.pages.flat()) expect(block.topMm + block.heightMm).toBeLessThanOrEqual(heightMm);
  expect(chipsOf(card)).toHaveLength(97);
  expect(4 * measureChipWidth(card) + 15).toBeCloseTo(widthMm, 6);
});

it('uses the standard sizes of paper (ISO 216; ANSI/ASME Y14.1: 8.5 × 11 inches)', () => {
  expect(PAPERS.a4).toEqual({ widthMm: 210, heightMm: 297 });
  expect(PAPERS.letter.widthMm / 25.4).toBeCloseTo(8.5, 9);
  expect(PAPERS.letter.heightMm / 25.4).toBeCloseTo(11, 9);
});

describe.each(['a4', 'letter'] as const)('a panel in a field on %s', (paper) => {
  const format = { paper } as const;
  const panel = planCardPanel(format);
  const { left, top, widthPx, heightPx, glossPx, sizePx } = planPanel(panel.sizePx, panel.widthMm);
  const mmPerPx = panel.sideMm / sizePx;

  it('is printed 1 : 1, with its piece as wide as the field and at its place', () => {
    expect(widthPx * mmPerPx).toBeCloseTo(measureChipWidth(format), 9);
    expect(panel.widthMm).toBe(measureChipWidth(format));
    expect(panel.leftMm + left * mmPerPx).toBeCloseTo(0, 9);
    // a card shows colours, which a reflection would hide
    expect(panel.topMm + (top + glossPx) * mmPerPx).toBeCloseTo(0, 9);
  });

  it('fills the field, so that nothing beside the piece is printed', () => {
    expect((heightPx - glossPx) * mmPerPx).toBeGreaterThan(Math.max(...CARD_MM.fields));
  });

  it('has about 300 pixels per inch', () => {
    const ppi = 25.4 / mmPerPx;
    expect(Math.abs(ppi - 300)).toBeLessThan(2);
  });
});

it('the ruler has a mark for each millimetre, longer ones at five and ten, and numerals at ten', () => {
  const marks = listRulerMarks(41.75);
  expect(marks).toHaveLength(42);
  const lengths = new Map(marks.map(({ atMm, lengthMm }) => [atMm, lengthMm]));
  expect(lengths.get(40)).toBe(CARD_MM.ruler.mark);
  expect(lengths.get(35)!).toBeLessThan(lengths.get(40)!);
  expect(lengths.get(34)!).toBeLessThan(lengths.get(35)!);
  const numbered = (widthMm: number) =>
    listRulerMarks(widthMm).flatMap(({ atMm, numeral }) => (numeral === null ? [] : [[atMm, numeral]]));
  expect(numbered(41.75)).toEqual([0, 10, 20, 30, 40].map((atMm) => [atMm, String(atMm)]));
  // half of the 20 would extend past the end
  expect(numbered(20.5)).toEqual([0, 10].map((atMm) => [atMm, String(atMm)]));
});
