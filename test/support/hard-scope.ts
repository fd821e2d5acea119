import { makeRandom } from '../../server/core/combinations/covering-array.ts';
import type { Finish } from '../../server/core/finish/finish.ts';
import type { Line, Rule } from '../../server/core/line/line.ts';
import type { RuleScope } from '../../server/core/line/rules.ts';
import { byFoldedCode, makeFinish } from './make-finish.ts';
import { makeSlot } from './make-survey.ts';

interface Wanted {
  readonly slots: number;
  /** On offer in every slot. */
  readonly finishes: number;
  /** Finishes are tagged in turn with so many tags; rules bar half of the pairs of tags. */
  readonly tags: number;
}

/** A line of hard rules: half of all pairs of finishes of two positions are barred, at random. The same every time. */
export function makeHardScope({ slots, finishes, tags }: Wanted): RuleScope & { readonly line: Line } {
  const random = makeRandom(7);
  const all = Array.from({ length: finishes }, (_, i): Finish => makeFinish(`F${i}`, { tags: [`t${i % tags}`] }));
  const rules: Rule[] = [];
  const names = Array.from({ length: slots }, (_, i) => `p${i}`);
  for (let a = 0; a < slots; a++)
    for (let b = a + 1; b < slots; b++)
      for (let x = 0; x < tags; x++)
        for (let y = 0; y < tags; y++) {
          // what goes with tag 0 everywhere goes together, so that there is always a valid combination
          if (x === 0 || y === 0 || random() < 0.5) continue;
          rules.push({ when: { position: names[a]!, tag: `t${x}` }, excludes: { position: names[b]!, tag: `t${y}` } });
        }
  const line: Line = {
    line: 'HARD',
    name: 'Hard',
    positions: names.map((position) => ({ position, label: `The ${position}` })),
    range: all.map(({ finish }) => ({ finish, status: 'current' })),
    rules,
  };
  return { slots: names.map((position) => makeSlot(position, { position })), line, finishes: byFoldedCode(all) };
}
