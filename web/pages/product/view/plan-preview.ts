import type { AssignedMaterial } from '../../../../server/core/ports/renderer.ts';
import type { LivePreviewAnswer } from '../../../../server/http/contracts/model.ts';

/** Finishes beside a missing one that the next file gets as well, so that the keys walk through them at once. */
const NEIGHBOURS = 20;

type Look = Pick<LivePreviewAnswer, 'parts'>;

/**
 * Choices that the file of the view lacks, each as `slot:finish`, with the options beside them.
 * @param options finishes that a slot may have, in order
 */
export function listMissing(
  look: Look,
  panes: readonly Readonly<Record<string, string>>[],
  options: (slot: string) => readonly string[],
): string[] {
  const missing = new Set<string>();
  for (const { slot, materials } of look.parts) {
    for (const { [slot]: finish } of panes) {
      if (finish === undefined || finish in materials) continue;
      missing.add(`${slot}:${finish}`);
      const all = options(slot);
      const at = all.indexOf(finish);
      if (at < 0) continue;
      const near = all.slice(Math.max(0, at - NEIGHBOURS), at + NEIGHBOURS + 1);
      for (const other of near) if (!(other in materials)) missing.add(`${slot}:${other}`);
    }
  }
  return [...missing];
}

/**
 * The material of the preview's file for each part. Null without a choice, or where the file lacks the finish: the part
 * then keeps its original material.
 */
export function planPreview(look: Look, choices: Readonly<Record<string, string>>): AssignedMaterial[] {
  return look.parts.map(({ slot, mesh, primitive, materials }) => {
    const finish = choices[slot];
    return { mesh, primitive, material: finish === undefined ? null : (materials[finish] ?? null) };
  });
}
