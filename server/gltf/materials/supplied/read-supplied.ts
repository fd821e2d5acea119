import { foldCode } from '../../../core/codes.ts';
import type { PlannedResult } from '../../../core/delivery/mapping-plan.ts';
import type { WriteRequest } from '../../../core/ports/models.ts';
import type { GltfJson } from '../../document/json.ts';
import type { MaterialDocument, PlannedFinish } from '../material-spec.ts';
import { changeFactors, countUvSets, countUvSetsNeeded, fitToUvSets, parseMaterial } from './adapt-supplied.ts';

/** The supplied materials that a plan needs: stored GLBs of one material each. */
export interface SuppliedMaterials {
  /** In the order in which the plan needs them. */
  readonly byKey: ReadonlyMap<string, MaterialDocument>;
  /** The key for each result of the plan; null for results without a supplied material. */
  readonly keys: readonly (string | null)[];
  /** Finishes whose maps need a UV set that the parts lack, by slot. */
  readonly missingUvs: ReadonlyMap<string, ReadonlySet<string>>;
  /** Finishes whose colour or roughness the factors of the supplied material cannot reach. */
  readonly outOfReach: ReadonlySet<string>;
}

/**
 * Reads the supplied materials of a plan, each adapted to what its finish states now and to the UV sets of the part. Maps
 * that need a UV set which the part lacks are removed: no viewer could show them, and the file would not be valid.
 * @param json the source, unchanged
 */
export async function readSupplied(request: WriteRequest, json: GltfJson): Promise<SuppliedMaterials> {
  const { plan, finishes, readMap } = request;
  const stored = new Map<string, MaterialDocument>();
  const byKey = new Map<string, MaterialDocument>();
  const keys: (string | null)[] = [];
  const missingUvs = new Map<string, Set<string>>();
  const outOfReach = new Set<string>();
  for (const planned of plan.results) {
    const sha256 = findSupplied(planned, finishes);
    if (planned.kind !== 'finish' || sha256 === null) {
      keys.push(null);
      continue;
    }
    let supplied = stored.get(sha256);
    if (!supplied) {
      supplied = parseMaterial((await readMap(sha256)).bytes);
      stored.set(sha256, supplied);
    }
    const change = finishes.get(foldCode(planned.finish))!.suppliedChange;
    const sets = countSetsAtHand(json, planned);
    const fits = countUvSetsNeeded(supplied) <= sets;
    const key = JSON.stringify([sha256, change, fits ? null : sets]);
    keys.push(key);
    if (!byKey.has(key)) {
      const { material, exceeds } = change ? changeFactors(supplied, change) : { material: supplied, exceeds: false };
      if (exceeds) outOfReach.add(planned.finish);
      byKey.set(key, fits ? material : fitToUvSets(material, sets));
    }
    const { slot } = planned.slot;
    if (!fits) missingUvs.set(slot, (missingUvs.get(slot) ?? new Set()).add(planned.finish));
  }
  return { byKey, keys, missingUvs, outOfReach };
}

function findSupplied(planned: PlannedResult, finishes: WriteRequest['finishes']): string | null {
  return planned.kind === 'finish' ? (finishes.get(foldCode(planned.finish))?.supplied ?? null) : null;
}

/** The fewest UV sets among the primitives of a result. */
function countSetsAtHand(json: GltfJson, { slot, sourceMaterial, hasUv }: PlannedFinish): number {
  const counts = slot.primitives.flatMap(({ mesh, primitive: p }) => {
    const primitive = json.meshes?.[mesh]?.primitives[p];
    if (!primitive || (primitive.material ?? null) !== sourceMaterial) return [];
    const sets = countUvSets(primitive);
    return sets > 0 === hasUv ? [sets] : [];
  });
  return counts.length > 0 ? Math.min(...counts) : 0;
}
