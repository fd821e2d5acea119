import type { AssignedMaterial } from '../../../../server/core/ports/renderer.ts';
import type { LivePreviewAnswer } from '../../../../server/http/contracts/model.ts';

/**
 * The material of the preview's file for each part. Null without a choice, or where the file lacks the finish: the part
 * then keeps its original material.
 */
export function planPreview(
  look: Pick<LivePreviewAnswer, 'parts'>,
  choices: Readonly<Record<string, string>>,
): AssignedMaterial[] {
  return look.parts.map(({ slot, mesh, primitive, materials }) => {
    const finish = choices[slot];
    return { mesh, primitive, material: finish === undefined ? null : (materials[finish] ?? null) };
  });
}
