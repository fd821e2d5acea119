import type { Dressing } from '../../../server/core/ports/renderer.ts';
import type { LookAnswer } from '../../../server/http/contracts/model.ts';

/**
 * Which material of the preview's file each part wears for these choices. Null where there is no choice, or none the
 * file has: the part then wears what the model came with.
 */
export function planPreview(look: LookAnswer, choices: Readonly<Record<string, string>>): Dressing[] {
  return look.parts.map(({ slot, mesh, primitive, materials }) => {
    const finish = choices[slot];
    return { mesh, primitive, material: finish === undefined ? null : (materials[finish] ?? null) };
  });
}
