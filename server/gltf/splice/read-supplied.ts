import type { MappingPlan, PlannedResult } from '../../core/delivery/mapping-plan.ts';
import type { WriteRequest } from '../../core/ports/models.ts';
import { foldCode } from '../../core/codes.ts';
import { parseGltf } from '../container.ts';
import type { FinishKit } from './finish-kit.ts';

/** Supplied materials a plan needs: stored GLBs of one material each, which go into the file as they are. */
export interface Supplied {
  /** By digest, in the order the plan needs them. */
  readonly kits: ReadonlyMap<string, FinishKit>;
  /** Digest by result of the plan; null for results that are made, or are the source's. */
  readonly byResult: readonly (string | null)[];
}

export async function readSupplied({ plan, finishes, readMap }: WriteRequest): Promise<Supplied> {
  const byResult = plan.results.map((result) => suppliedOf(result, finishes));
  const kits = new Map<string, FinishKit>();
  for (const sha256 of byResult) {
    if (sha256 !== null && !kits.has(sha256)) kits.set(sha256, readKit((await readMap(sha256)).bytes));
  }
  return { kits, byResult };
}

function suppliedOf(result: PlannedResult, finishes: WriteRequest['finishes']): string | null {
  return result.kind === 'finish' ? (finishes.get(foldCode(result.finish))?.supplied ?? null) : null;
}

/** The JSON and BIN chunk of a GLB that was written here (glTF 2.0 §4.4), and is known to be whole. */
function readKit(glb: Uint8Array): FinishKit {
  const file = Buffer.from(glb.buffer, glb.byteOffset, glb.byteLength);
  const jsonBytes = file.readUInt32LE(12);
  const json = parseGltf(file.subarray(20, 20 + jsonBytes));
  return { json, bin: file.subarray(28 + jsonBytes) };
}

/**
 * Vertex colours multiply whatever a part wears. Materials that came with the model were made to be seen through them, so
 * they stay where any of those is worn, and tint the part's other finishes too.
 */
export function keepColours(plan: MappingPlan, { byResult }: Supplied): MappingPlan {
  return {
    ...plan,
    primitives: plan.primitives.map((primitive) =>
      primitive.dropColours && primitive.mappings.some(({ result }) => byResult[result] !== null)
        ? { ...primitive, dropColours: false }
        : primitive,
    ),
  };
}
