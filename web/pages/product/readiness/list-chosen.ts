import type { Repair } from '../../../../server/core/repair/repair.ts';
import { renameReferences } from './rename-references.ts';
import type { Step } from './repair-chain.ts';

/**
 * The repairs that are to be made, in order. Where a step that gives names is left out, those after it go by the names
 * the materials still have; a list that comes to nothing by that leaves its step out too.
 */
export function listChosen(steps: readonly Step[]): Repair[] {
  const names = new Map<string, string | null>();
  const made = new Set<string>();
  for (const { on, repair } of steps) {
    if (repair.repair === 'rename-materials' && !on) for (const { from, to } of repair.names) names.set(to, from);
    if (repair.repair !== 'separate-pieces') continue;
    for (const { name } of repair.groups) {
      if (on) made.add(name);
      else names.set(name, null);
    }
  }
  for (const name of made) names.delete(name);
  return steps
    .filter(({ on }) => on)
    .map(({ repair }) => renameReferences(repair, names))
    .filter((repair) => !('materials' in repair) || repair.materials === undefined || repair.materials.length > 0);
}
