import type { DemoLine } from './demo-pack.ts';
import { FINISHES } from './finishes.ts';

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

/** What is on its way in or out, so that every status has an example. */
const STATUSES: Readonly<Record<string, 'planned' | 'phase-out'>> = { 'MTL-833': 'planned', 'DRM-241': 'phase-out' };

/** Last days on which finishes in phase-out can be ordered; far off, so that the demo does not date. */
const LAST_ORDERS: Readonly<Record<string, string>> = { 'DRM-241': '2039-03-31' };

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
    ...(LAST_ORDERS[finish] && { lastOrder: LAST_ORDERS[finish] }),
  })),
  rules: [
    // a hide is piped with itself; cloth may be piped with anything
    { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } },
    // bare metal marks stone
    { when: { position: 'body', family: 'stone' }, excludes: { position: 'fittings', family: 'bare-metal' } },
    // black fittings belong with coated legs, never with wood
    { when: { position: 'fittings', finish: 'FDY-610' }, requires: { position: 'legs', family: 'powder-coat' } },
    // black fittings have a black cord: the finish says so
    { when: { position: 'fittings' }, companion: { position: 'cord' } },
  ],
};
