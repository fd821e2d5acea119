import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { type Finding, makeFinding } from '../../core/product/finding.ts';
import type { MeshScale } from '../../core/product/survey.ts';
import { count, formatMm } from '../../core/texts/format-text.ts';
import { hasBody } from '../materials/add-shading.ts';
import { middleOf } from '../materials/material-spec.ts';

/** Scales that differ by less are no matter: no wall is made to a thousandth of itself. Judgement. */
const SAME = 1e-3;

/**
 * One finding per slot for bodies of a stated thickness on a mesh that nodes of several scales draw: thickness is stated in
 * the mesh's own space (`KHR_materials_volume`), so one material cannot be right on all of them.
 * @param findFinish the finish of a result that is to be made; null for all others
 */
export function listUnevenThickness(
  plan: MappingPlan,
  findFinish: (result: number) => ResolvedFinish | null,
): Finding[] {
  const bySlot = new Map<string, Told>();
  for (const { mesh, mappings } of plan.primitives) {
    for (const { result: index } of mappings) {
      const result = plan.results[index]!;
      if (result.kind !== 'finish' || !result.scale || !isUneven(result.scale)) continue;
      const finish = findFinish(index);
      if (!finish || !hasBody(finish)) continue;
      const { slot } = result.slot;
      const told = bySlot.get(slot) ?? { meshes: new Set(), finishes: new Set(), low: Infinity, high: 0 };
      bySlot.set(slot, told);
      told.meshes.add(mesh);
      told.finishes.add(finish.finish);
      const perUnit = finish.volume!.thickness / middleOf(result.scale);
      told.low = Math.min(told.low, perUnit * result.scale.low);
      told.high = Math.max(told.high, perUnit * result.scale.high);
    }
  }
  return [...bySlot].map(([slot, told]) => toFinding(slot, told));
}

interface Told {
  readonly meshes: Set<number>;
  readonly finishes: Set<string>;
  /** Thickness as it comes out, metres. */
  low: number;
  high: number;
}

const isUneven = ({ low, high }: MeshScale) => high - low > SAME * high;

function toFinding(slot: string, { meshes, finishes, low, high }: Told): Finding {
  return makeFinding('thickness-uneven', {
    where: `slot ${slot}`,
    message: `${count(meshes.size, 'mesh', 'meshes')} of “${slot}” ${meshes.size === 1 ? 'is' : 'are'} drawn by nodes of several scales, so the thickness of ${count(finishes.size, 'finish', 'finishes')} comes out between ${formatMm(low)} and ${formatMm(high)}. Give the nodes meshes of their own, and each is right.`,
    seen: { finishes: [...finishes], lowMm: low * 1000, highMm: high * 1000 },
    expected: 'one scale for each mesh',
    repairs: [{ repair: 'unshare-mesh', meshes: [...meshes].map((mesh) => `/meshes/${mesh}`) }],
  });
}
