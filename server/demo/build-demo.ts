import type { Article, Finish, RangeStatus } from '../core/finish/finish.ts';
import type { Options, Rule } from '../core/line/line.ts';
import type { Mount } from '../core/picture/picture.ts';
import { ARTICLES, FINISHES, LAMP_SHEET, STOOL_SHEET } from './finishes.ts';
import { makeLamp } from './lamp.ts';
import { makeMaps } from './make-maps.ts';
import { makeStool } from './stool.ts';

interface DemoLine {
  readonly line: string;
  readonly name: string;
  readonly positions: { readonly position: string; readonly label: string; readonly options?: Options }[];
  readonly range: {
    readonly finish: string;
    readonly grade?: string;
    readonly status?: RangeStatus;
    readonly lastOrder?: string;
  }[];
  readonly rules: Rule[];
}

interface DemoSlot {
  /** The material's name, lower-cased to `[a-z0-9-]`. */
  readonly slot: string;
  readonly label?: string;
  readonly position?: string;
  readonly options?: Options;
  readonly fixed?: boolean;
}

export interface DemoProduct {
  readonly code: string;
  readonly name: string;
  readonly class: string;
  readonly mount: Mount;
  readonly sheet: { readonly widthMm: number; readonly depthMm: number; readonly heightMm: number };
  /** GLB. */
  readonly model: Uint8Array;
  readonly slots: DemoSlot[];
  readonly schedule: {
    readonly default: string;
    readonly variants: { readonly code: string; readonly name: string; readonly choices: Record<string, string> }[];
  };
}

/** All contents of the demo: plain data, which a worker can post. */
export interface DemoPack {
  /** PNG maps of the finishes, by name. */
  readonly files: { readonly name: string; readonly bytes: Uint8Array }[];
  /** Maps name files of `files`; storing them replaces the names with digests. */
  readonly articles: Article[];
  readonly finishes: Finish[];
  readonly line: DemoLine;
  readonly products: DemoProduct[];
}

/** Price grades by family or article: A is in the base price, B and C are surcharged. */
const GRADES: readonly (readonly [prefix: string, grade: 'A' | 'B' | 'C'])[] = [
  ['FEL', 'A'],
  ['DRM', 'C'],
  ['SLM', 'B'],
  ['WTH', 'B'],
  ['HLT', 'C'],
  ['RPW', 'A'],
  ['FDY', 'A'],
  ['LCQ', 'B'],
  ['PLT', 'B'],
  ['MTL', 'C'],
  ['OAK', 'A'],
  ['WAL', 'B'],
  ['KLN', 'B'],
  ['QRY', 'C'],
  ['MLB', 'A'],
];

/** One finish is planned and one is in phase-out, so every status has an example. */
const STATUSES: Readonly<Record<string, 'planned' | 'phase-out'>> = { 'MTL-833': 'planned', 'DRM-241': 'phase-out' };

/** Last days on which finishes in phase-out can be ordered; far away, so the demo does not become outdated. */
const LAST_ORDERS: Readonly<Record<string, string>> = { 'DRM-241': '2039-03-31' };

/** The Quillmere line: lamps and seats for reading, by an invented maker. */
export const LINE: DemoLine = {
  line: 'quillmere',
  name: 'Quillmere, the reading room',
  positions: [
    { position: 'shade', label: 'Shade', options: { tags: ['shade'] } },
    { position: 'body', label: 'Body', options: { families: ['ceramic', 'stone', 'wood', 'powder-coat', 'paint'] } },
    {
      position: 'fittings',
      label: 'Fittings',
      options: { families: ['plated', 'bare-metal'], finishes: ['FDY-610', 'FDY-652'] },
    },
    { position: 'cord', label: 'Cord', options: { tags: ['cord'] } },
    { position: 'seat', label: 'Seat', options: { tags: ['upholstery'] } },
    { position: 'piping', label: 'Piping', options: { tags: ['upholstery'] } },
    { position: 'legs', label: 'Legs', options: { families: ['wood'], finishes: ['FDY-610', 'FDY-624', 'FDY-652'] } },
  ],
  range: FINISHES.map(({ finish }) => ({
    finish,
    grade: GRADES.find(([prefix]) => finish.startsWith(prefix))![1],
    status: STATUSES[finish] ?? 'current',
    ...(LAST_ORDERS[finish] && { lastOrder: LAST_ORDERS[finish] }),
  })),
  rules: [
    // a leather seat has piping of the same leather; a cloth seat may have any
    { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } },
    // bare metal marks stone
    { when: { position: 'body', family: 'stone' }, excludes: { position: 'fittings', family: 'bare-metal' } },
    // black fittings need coated legs, not wood
    { when: { position: 'fittings', finish: 'FDY-610' }, requires: { position: 'legs', family: 'powder-coat' } },
    // black fittings have a black cord: the finish names it as its companion
    { when: { position: 'fittings' }, companion: { position: 'cord' } },
  ],
};

type Schedule = DemoProduct['schedule'];
type Row = readonly [code: string, name: string, ...finishes: string[]];

function schedule(slots: readonly string[], rows: readonly Row[]): Schedule {
  return {
    default: rows[0]![0],
    variants: rows.map(([code, name, ...finishes]) => ({
      code,
      name,
      choices: Object.fromEntries(slots.map((slot, i) => [slot, finishes[i]!])),
    })),
  };
}

/** No name is part of another: some viewers pick a variant by a part of its name. */
export const LAMP_SCHEDULE: Schedule = schedule(
  ['shade', 'base', 'stem', 'cord'],
  [
    ['L46-01', 'Chalk linen / Rivermint / Brass', 'FEL-110', 'KLN-104', 'MTL-820', 'RPW-518'],
    ['L46-02', 'Oatfield linen / Walnut / Brass', 'FEL-124', 'WAL-936', 'MTL-820', 'RPW-510'],
    ['L46-03', 'Madder linen / Treacle / Copper', 'FEL-158', 'KLN-117', 'MTL-826', 'RPW-510'],
    ['L46-04', 'Mulberry natural / Pale terrazzo / Nickel', 'MLB-304', 'QRY-201', 'PLT-804', 'RPW-518'],
    ['L46-05', 'Slate linen / Oiled oak / Soot', 'FEL-142', 'OAK-902', 'FDY-610', 'RPW-510'],
    ['L46-06', 'Persimmon / Tarn blue / Brass', 'MLB-311', 'FDY-624', 'MTL-820', 'RPW-527'],
    ['L46-07', 'Moss linen / Milkstone / Brass', 'FEL-137', 'KLN-125', 'MTL-820', 'RPW-518'],
    ['L46-08', 'Chalk linen / Signal-box red / Chromium', 'FEL-110', 'LCQ-702', 'PLT-810', 'RPW-527'],
    ['L46-09', 'Mulberry natural / Dusk terrazzo / Soot', 'MLB-304', 'QRY-212', 'FDY-610', 'RPW-510'],
  ],
);

export const STOOL_SCHEDULE: Schedule = schedule(
  ['seat', 'piping', 'legs', 'ring'],
  [
    ['S45-01', 'Saddle hide / Oiled oak / Brass', 'HLT-410', 'HLT-410', 'OAK-902', 'MTL-820'],
    ['S45-02', 'Cloudbank bouclé / Oiled oak / Brass', 'DRM-210', 'FEL-124', 'OAK-902', 'MTL-820'],
    ['S45-03', 'Harbour herringbone / Walnut / Copper', 'WTH-338', 'HLT-410', 'WAL-936', 'MTL-826'],
    ['S45-04', 'Lichen herringbone / Smoked oak / Brass', 'WTH-325', 'HLT-422', 'OAK-914', 'MTL-820'],
    ['S45-05', 'Madder linen / Ebonised oak / Nickel', 'FEL-158', 'HLT-431', 'OAK-928', 'PLT-804'],
    ['S45-06', 'Bracken bouclé / Walnut / Brass', 'DRM-226', 'HLT-422', 'WAL-936', 'MTL-820'],
    ['S45-07', 'Inkwell hide / Ebonised oak / Chromium', 'HLT-422', 'HLT-422', 'OAK-928', 'PLT-810'],
    ['S45-08', 'Oatfield linen / Whitewash / Nickel', 'FEL-124', 'FEL-158', 'FDY-652', 'PLT-804'],
    ['S45-09', 'Peat herringbone / Tarn blue / Soot', 'WTH-312', 'HLT-410', 'FDY-624', 'FDY-610'],
  ],
);

/**
 * Makes the whole demo line: models, maps, finishes, schedules. All of it is computed, and the same version of the code and
 * its libraries gives the same bytes. It takes seconds of one core, so call it in a worker.
 */
export async function buildDemo(): Promise<DemoPack> {
  const [lamp, stool, files] = await Promise.all([makeLamp(), makeStool(), makeMaps()]);
  return {
    files,
    articles: ARTICLES,
    finishes: FINISHES,
    line: LINE,
    products: [
      {
        code: 'QM-L46',
        name: 'Tarrowick table lamp',
        class: 'table-lamp',
        mount: 'table',
        sheet: LAMP_SHEET,
        model: lamp,
        slots: [
          { slot: 'shade', label: 'Shade', position: 'shade' },
          { slot: 'base', label: 'Base', position: 'body' },
          { slot: 'stem', label: 'Stem and fitter', position: 'fittings' },
          { slot: 'cord', label: 'Cord', position: 'cord' },
          { slot: 'liner', label: 'Shade liner', fixed: true },
          { slot: 'socket', label: 'Socket', fixed: true },
          { slot: 'bulb', label: 'Bulb', fixed: true },
          { slot: 'switch', label: 'Switch and plug', fixed: true },
        ],
        schedule: LAMP_SCHEDULE,
      },
      {
        code: 'QM-S45',
        name: 'Tarrowick stool',
        class: 'stool',
        mount: 'floor',
        sheet: STOOL_SHEET,
        model: stool,
        slots: [
          { slot: 'seat', label: 'Seat', position: 'seat' },
          { slot: 'piping', label: 'Piping, button and stitching', position: 'piping' },
          { slot: 'legs', label: 'Legs and apron', position: 'legs' },
          { slot: 'ring', label: 'Stretcher ring and shoes', position: 'fittings' },
          { slot: 'glides', label: 'Glides', fixed: true },
        ],
        schedule: STOOL_SCHEDULE,
      },
    ],
  };
}
