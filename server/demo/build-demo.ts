import { ARTICLES, LAMP_SHEET, STOOL_SHEET } from './articles.ts';
import type { DemoPack } from './demo-pack.ts';
import { FINISHES } from './finishes.ts';
import { makeLamp } from './lamp.ts';
import { LAMP_SCHEDULE, LINE, STOOL_SCHEDULE } from './line.ts';
import { makeMaps } from './make-maps.ts';
import { makeStool } from './stool.ts';

/**
 * Makes the demo line whole: models, maps, finishes, schedules. Everything is computed; the same version of the code
 * and its libraries gives the same bytes. Takes seconds of one core, so call it in a worker.
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
