import type { Finish } from '../../server/core/finish/finish.ts';
import type { Line, Rule } from '../../server/core/line/line.ts';
import type { RuleScope } from '../../server/core/line/rules.ts';
import type { Slot } from '../../server/core/product/slot.ts';
import { byFoldedCode, makeFinish } from './make-finish.ts';
import { makeSlot } from './make-survey.ts';

/** Cloths, hides and metals of an invented maker; `BLACK` has a cord of its own. */
export const RULED_FINISHES: readonly Finish[] = [
  makeFinish('FELT', { family: 'textile', tags: ['cloth'] }),
  makeFinish('LOOP', { family: 'textile', tags: ['cloth', 'thick'] }),
  makeFinish('HIDE', { family: 'leather' }),
  makeFinish('OAK', { family: 'wood' }),
  makeFinish('BRASS', { family: 'bare-metal' }),
  makeFinish('BLACK', { family: 'powder-coat', companions: { cord: 'RAVEN' } }),
  makeFinish('RAVEN', { family: 'textile' }),
  makeFinish('FLAX', { family: 'textile' }),
];

/** A line whose positions have two or three of them each as options. */
export function makeRuledLine(rules: readonly Rule[], given: Partial<Line> = {}): Line {
  const position = (key: string, ...finishes: string[]) => ({
    position: key,
    label: `The ${key}`,
    options: { finishes },
  });
  return {
    line: 'L',
    name: 'Line',
    positions: [
      position('seat', 'FELT', 'LOOP', 'HIDE'),
      position('piping', 'FELT', 'LOOP', 'HIDE'),
      position('legs', 'OAK', 'BRASS', 'BLACK'),
      position('cord', 'RAVEN', 'FLAX'),
    ],
    range: RULED_FINISHES.map(({ finish }) => ({
      finish,
      grade: finish === 'HIDE' ? 'C' : 'A',
      status: 'current' as const,
    })),
    rules,
    ...given,
  };
}

/** A slot at each position, named after it. */
export function makeRuledSlots(...positions: string[]): Slot[] {
  return positions.map((position) => makeSlot(position, { position }));
}

export function makeScope(rules: readonly Rule[], given: Partial<RuleScope> = {}): RuleScope {
  return {
    slots: makeRuledSlots('seat', 'piping', 'legs', 'cord'),
    line: makeRuledLine(rules),
    finishes: byFoldedCode(RULED_FINISHES),
    ...given,
  };
}
