import type { DemoLine } from './demo-pack.ts';
import { FINISHES } from './finishes.ts';

/** Price grades by family or article: A is in the base price, B and C are surcharged. */
const GRADES: readonly (readonly [prefix: string, grade: 'A' | 'B' | 'C'])[] = [
  ['FEL', 'A'],
  ['DRM', 'C'],
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

/** What is on its way in or out, so that every status has an example. */
const STATUSES: Readonly<Record<string, 'planned' | 'phase-out'>> = { 'MTL-833': 'planned', 'DRM-241': 'phase-out' };

/** The Quillmere line: an invented maker's lamps and seats for reading by. */
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
  })),
};
