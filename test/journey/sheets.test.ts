import { getDocument, OPS } from 'pdfjs-dist/legacy/build/pdf.mjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Article, Finish } from '../../server/core/finish/finish.ts';
import { resolveFinish } from '../../server/core/finish/resolve-finish.ts';
import type { RangeEntry } from '../../server/core/line/line.ts';
import { planCardPanel, planColourCard } from '../../server/core/sheet/plan-colour-card.ts';
import { openRenderer } from '../renderer/open-renderer.ts';
import { listPressFaults } from '../support/list-press-faults.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The sheets, read back with pdf.js 5.6 (Apache-2.0): size, trim, text and its position, in points of 1/72 inch (ISO
// 32000-1 §8.3.2.3).

const POINTS_PER_MM = 72 / 25.4;

interface ReadPdf {
  readonly pages: { readonly widthMm: number; readonly heightMm: number; readonly words: Word[] }[];
  /** All of it without spaces: a change of font file can end a run of text anywhere. */
  readonly text: string;
}
interface Word {
  readonly text: string;
  readonly xMm: number;
}

async function readPdf(bytes: Uint8Array): Promise<ReadPdf> {
  const document = await getDocument({ data: new Uint8Array(bytes), verbosity: 0 }).promise;
  const pages = [];
  for (let number = 1; number <= document.numPages; number++) {
    const page = await document.getPage(number);
    const { items } = await page.getTextContent();
    const [x0, y0, x1, y1] = page.view as [number, number, number, number];
    pages.push({
      widthMm: (x1 - x0) / POINTS_PER_MM,
      heightMm: (y1 - y0) / POINTS_PER_MM,
      words: items.flatMap((item) =>
        'str' in item && item.str.trim() !== ''
          ? [{ text: item.str, xMm: (item.transform[4] as number) / POINTS_PER_MM }]
          : [],
      ),
    });
  }
  await document.destroy();
  return { pages, text: squeeze(pages.flatMap((page) => page.words.map((word) => word.text)).join('')) };
}

/** Widths of the pictures on all pages, in mm, by the transformation of each (ISO 32000-1 §8.3.4). */
async function measurePictures(bytes: Uint8Array): Promise<number[]> {
  const document = await getDocument({ data: new Uint8Array(bytes), verbosity: 0 }).promise;
  const widths: number[] = [];
  for (let number = 1; number <= document.numPages; number++) {
    const { fnArray, argsArray } = await (await document.getPage(number)).getOperatorList();
    let scale = 1;
    const saved: number[] = [];
    fnArray.forEach((operator, i) => {
      if (operator === OPS.save) saved.push(scale);
      else if (operator === OPS.restore) scale = saved.pop()!;
      // sheets have no rotation: the horizontal scale is the first number of each matrix
      else if (operator === OPS.transform) scale *= Math.abs((argsArray[i] as number[])[0]!);
      else if (operator === OPS.paintImageXObject) widths.push(scale / POINTS_PER_MM);
    });
  }
  await document.destroy();
  return widths;
}

const squeeze = (text: string) => text.replace(/\s/g, '');

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});
afterAll(() => service.close());

const get = (path: string) => service.call('GET', path);

describe('the colour card', () => {
  it('is A4, in real millimetres, with the figures of every finish on sale as text', async () => {
    const answer = await get('/api/lines/quillmere/colour-card.pdf');
    expect([answer.status, answer.headers.get('content-type')]).toEqual([200, 'application/pdf']);
    const { pages, text } = await readPdf(answer.body);
    for (const { widthMm, heightMm } of pages) {
      expect(widthMm).toBeCloseTo(210, 2);
      expect(heightMm).toBeCloseTo(297, 2);
    }
    const { body: line } = await get('/api/lines/quillmere');
    for (const { finish, status } of line.range) {
      const { body } = await get(`/api/finishes/${finish}`);
      if (status === 'planned') expect(text).not.toContain(finish);
      else {
        expect(text).toContain(finish);
        const { hex, deltaE } = body.resolved.delivered;
        expect(text, finish).toContain(`${hex}·ΔE00${deltaE.toFixed(1)}`);
      }
    }
    expect(text).toContain(squeeze('a physical sample under the stated light decides'));
    // four fields of 41.75 mm with 5 mm between them across 182 mm: neighbouring fields start 46.75 mm apart
    const places = ['FEL-110', 'FEL-124', 'FEL-137'].map(
      (code) => pages[0]!.words.find((word) => word.text.startsWith(code))!.xMm,
    );
    expect(Math.abs(places[1]! - places[0]! - 46.75)).toBeLessThan(0.1);
    expect(Math.abs(places[2]! - places[0]! - 93.5)).toBeLessThan(0.1);
  });

  it('shows patterned finishes as pieces at 1 : 1, metals lit, and only flat colours on request', async () => {
    const { body: line } = await get('/api/lines/quillmere');
    const { body: list } = await get('/api/finishes');
    const sold = new Set(
      line.range.flatMap(({ finish, status }: RangeEntry) => (status === 'planned' ? [] : [finish])),
    );
    const { body: articles } = await get('/api/articles');
    const shown = list.finishes.filter(({ finish }: Finish) => sold.has(finish));
    const patterned = shown.filter(({ article }: Finish) => {
      const found = articles.articles.find((each: Article) => each.article === article);
      return Object.keys(found?.maps ?? {}).length > 0;
    });
    const metals = shown.filter(({ family }: Finish) => ['plated', 'bare-metal', 'anodised'].includes(family));
    expect(metals.length).toBeGreaterThan(1);
    const { body } = await get('/api/lines/quillmere/colour-card.pdf');
    const widths = await measurePictures(body);
    const { sideMm } = planCardPanel({ paper: 'a4' });
    const panels = widths.filter((widthMm) => widthMm > 40);
    expect(panels).toHaveLength(patterned.length);
    for (const widthMm of panels) expect(Math.abs(widthMm / sideMm - 1)).toBeLessThan(0.002);
    // each as high as a field
    const spheres = widths.filter((widthMm) => widthMm <= 40);
    expect(spheres).toHaveLength(metals.length);
    for (const widthMm of spheres) expect(widthMm).toBeCloseTo(spheres[0]!, 3);
    const flat = await get('/api/lines/quillmere/colour-card.pdf?panels=0');
    expect(await measurePictures(flat.body)).toEqual([]);
  });

  it('numbers the ruler under a piece: numerals are ten millimetres apart', async () => {
    const { body } = await get('/api/lines/quillmere/colour-card.pdf');
    const { pages } = await readPdf(body);
    const [ten, twenty, forty] = ['10', '20', '40'].map(
      (figure) => pages[0]!.words.find(({ text }) => text === figure)!,
    );
    // both numerals have two digits of one width, so their centres are as far apart as their starts
    expect(twenty!.xMm - ten!.xMm).toBeCloseTo(10, 1);
    expect(forty!.xMm - ten!.xMm).toBeCloseTo(30, 1);
  });

  it('is available on Letter with 3 mm of bleed', async () => {
    const { body } = await get('/api/lines/quillmere/colour-card.pdf?paper=letter&bleedMm=3&panels=0');
    const { pages } = await readPdf(body);
    expect(pages[0]!.widthMm).toBeCloseTo(221.9, 2);
    const boxes = /\/TrimBox \[ ([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) \]/.exec(Buffer.from(body).toString('latin1'))!;
    const [left, , right] = boxes.slice(1).map((value) => Number(value) / POINTS_PER_MM);
    expect(left).toBeCloseTo(3, 2);
    expect(right! - left!).toBeCloseTo(215.9, 2);
  });

  it.each([
    ['an unknown line', '/api/lines/nobody/colour-card.pdf', 404, 'unknown-line-code'],
    ['another paper', '/api/lines/quillmere/colour-card.pdf?paper=a3', 400, 'invalid-field'],
    ['panels that are neither', '/api/lines/quillmere/colour-card.pdf?panels=some', 400, 'invalid-field'],
    ['another bleed', '/api/lines/quillmere/colour-card.pdf?bleedMm=5', 400, 'invalid-field'],
  ])('is refused for %s', async (_, path, status, code) => {
    const answer = await get(path);
    expect([answer.status, answer.body.code]).toEqual([status, code]);
  });

  it('is refused where no finish is sold', async () => {
    const range = [{ finish: 'FEL-110', status: 'planned' }];
    expect((await service.call('PUT', '/api/lines/soon', { name: 'Soon', range })).status).toBe(201);
    const answer = await get('/api/lines/soon/colour-card.pdf');
    expect([answer.status, answer.body.code]).toEqual([409, 'nothing-to-print']);
  });
});

describe('the schedule', () => {
  it('has a row for every variant, with its picture', async () => {
    const { body: schedule } = await get('/api/products/QM-L46/schedule');
    const answer = await get('/api/products/QM-L46/schedule.pdf');
    expect(answer.status).toBe(200);
    const { text } = await readPdf(answer.body);
    for (const { code, choices } of schedule.variants) {
      expect(text).toContain(code);
      for (const finish of Object.values(choices) as string[]) expect(text).toContain(finish);
    }
    const images = Buffer.from(answer.body)
      .toString('latin1')
      .match(/\/Filter \/DCTDecode/g);
    expect(images).toHaveLength(schedule.variants.length);
  });

  it('has a compact form: four side by side, with the codes of all finishes and a key of numbers and slots', async () => {
    const { body: schedule } = await get('/api/products/QM-L46/schedule');
    const { status, body } = await get('/api/products/QM-L46/schedule.pdf?form=compact');
    expect(status).toBe(200);
    const { pages, text } = await readPdf(body);
    expect(pages).toHaveLength(1);
    for (const { code, choices } of schedule.variants) {
      expect(text).toContain(code);
      for (const finish of Object.values(choices) as string[]) expect(text).toContain(finish);
    }
    expect(text).toContain('1Shade·2Base');
    expect(text).toContain(squeeze('a physical sample under the stated light decides'));
    // cells of 42.5 mm with 4 mm between them across 182 mm
    const widths = await measurePictures(body);
    expect(widths).toHaveLength(schedule.variants.length);
    const [first, second, fourth] = [0, 1, 3].map((i) => {
      const { code } = schedule.variants[i];
      return pages[0]!.words.find((word) => word.text.startsWith(code))!.xMm;
    });
    expect(second! - first!).toBeCloseTo(46.5, 1);
    expect(fourth! - first!).toBeCloseTo(139.5, 1);
  });

  it.each([
    ['another form', '/api/products/QM-L46/schedule.pdf?form=tiny', 400, 'invalid-field'],
    ['press that is neither', '/api/products/QM-L46/schedule.pdf?press=yes', 400, 'invalid-field'],
  ])('is refused for %s', async (_, path, status, code) => {
    const answer = await get(path);
    expect([answer.status, answer.body.code]).toEqual([status, code]);
  });

  it('prints a check set without adding it', async () => {
    const before = (await get('/api/products/QM-L46/schedule')).body;
    const { status, body } = await get('/api/products/QM-L46/schedule/check-set.pdf?kind=each-finish&pictures=0');
    expect(status).toBe(200);
    const { text } = await readPdf(body);
    const { body: slots } = await get('/api/products/QM-L46/slots');
    const sold = slots.slots.flatMap(({ allowed }: { allowed: { finish: string; status: string }[] }) =>
      allowed.filter((each) => each.status !== 'planned'),
    );
    const shown = sold.filter(({ finish }: { finish: string }) => text.includes(finish));
    expect(shown.length / sold.length).toBeGreaterThan(0.9);
    expect((await get('/api/products/QM-L46/schedule')).body).toEqual(before);
  });
});

describe('a printer', () => {
  const sheets = [
    '/api/lines/quillmere/colour-card.pdf',
    '/api/products/QM-L46/schedule.pdf',
    '/api/products/QM-L46/schedule.pdf?form=compact',
    '/api/products/QM-L46/schedule/check-set.pdf?pictures=0',
  ];

  it.each(sheets)('gets %s as PDF/X-4 with a bleed of 3 mm', async (path) => {
    const ask = (query: string) => get(`${path}${path.includes('?') ? '&' : '?'}${query}`);
    const { status, body } = await ask('press=1');
    expect(status).toBe(200);
    expect(await listPressFaults(body)).toEqual([]);
    const { pages } = await readPdf(body);
    expect(pages[0]!.widthMm).toBeCloseTo(216, 2);
    expect((await readPdf((await ask('press=1&bleedMm=0')).body)).pages[0]!.widthMm).toBeCloseTo(210, 2);
  });

  it.each(sheets)(
    'finds everything in %s that PDF/X-4 requires except its name, when press is not requested',
    async (path) => {
      expect(await listPressFaults((await get(path)).body)).toEqual(['XMP: no GTS_PDFXVersion PDF/X-4']);
    },
  );
});

it('gives the same bytes for the same card', async () => {
  const renderer = await openRenderer();
  const finish = { finish: 'A', name: 'Naïve <Ωmega> & “Ж”', family: 'paint', colour: { hex: '#2f5d73' } } as const;
  const card = planColourCard(
    {
      line: { line: 'L', name: 'Line' },
      range: [{ finish, grade: 'A', status: 'current' }],
      resolve: () => resolveFinish(finish, null),
      articleOf: () => null,
      panels: false,
      date: '2026-11-26',
    },
    { paper: 'a4', bleedMm: 0, press: false },
  );
  const [first, second] = [await renderer.printSheet(card, {}), await renderer.printSheet(card, {})];
  await renderer.close();
  expect(Buffer.from(first).equals(Buffer.from(second))).toBe(true);
  // Latin, Greek and Cyrillic letters: outlines of the sheets' own typeface, which no font of the machine provides
  expect(await listPressFaults(first)).toEqual(['XMP: no GTS_PDFXVersion PDF/X-4']);
  const fonts = Buffer.from(first)
    .toString('latin1')
    .matchAll(/\/BaseFont \/([^\s/]+)/g);
  expect([...new Set([...fonts].map(([, font]) => font!.replace(/^[A-Z]{6}\+|-.*/g, '')))]).toEqual([
    'SourceSans3ExtraLight',
  ]);
  expect((await readPdf(first)).text).toContain('Naïve<Ωmega>&“Ж”');
});
