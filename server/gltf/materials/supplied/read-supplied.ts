import { foldCode } from '../../../core/codes.ts';
import type { MappingPlan, PlannedResult } from '../../../core/delivery/mapping-plan.ts';
import type { SuppliedChange } from '../../../core/finish/change-supplied.ts';
import type { WriteRequest } from '../../../core/ports/models.ts';
import { type Finding, makeFinding } from '../../../core/product/finding.ts';
import { parseGltf } from '../../document/container.ts';
import type { GltfJson } from '../../document/json.ts';
import { mendJson } from '../../mend/mend-json.ts';
import type { FinishKit } from '../finish-material.ts';
import { countUvSets, countUvSetsNeeded, isBeyond, isOcclusion, leaveMapsOff } from './fit-supplied.ts';
import { retouchSupplied } from './retouch-supplied.ts';

type FinishResult = Extract<PlannedResult, { kind: 'finish' }>;

/** Supplied materials a plan needs: stored GLBs of one material each, which go into the file as they are. */
export interface Supplied {
  /** In the order the plan needs them. */
  readonly kits: ReadonlyMap<string, FinishKit>;
  /** Key of the kit by result of the plan; null for results that are made, or are the source's. */
  readonly byResult: readonly (string | null)[];
  readonly findings: readonly Finding[];
}

/**
 * Reads the supplied materials of a plan. On a part that lacks a set of UVs a material's maps are laid by, which is none
 * of those it came on, those maps are left off: no viewer could lay them, and the file would not be valid.
 * @param json the source, before it is dressed
 */
export async function readSupplied(request: WriteRequest, json: GltfJson): Promise<Supplied> {
  const { plan, finishes, readMap } = request;
  const whole = new Map<string, FinishKit>();
  const kits = new Map<string, FinishKit>();
  const byResult: (string | null)[] = [];
  const cut = new Map<string, Set<string>>();
  const short = new Set<string>();
  for (const result of plan.results) {
    const sha256 = suppliedOf(result, finishes);
    if (result.kind !== 'finish' || sha256 === null) {
      byResult.push(null);
      continue;
    }
    let kit = whole.get(sha256);
    if (!kit) {
      kit = readKit((await readMap(sha256)).bytes);
      whole.set(sha256, kit);
    }
    const change = finishes.get(foldCode(result.finish))!.suppliedChange;
    const sets = countSetsAtHand(json, result);
    const fits = countUvSetsNeeded(kit.json.materials![0]!) <= sets;
    const key = JSON.stringify([sha256, change, fits ? null : sets]);
    byResult.push(key);
    if (!kits.has(key)) {
      const retouched = change ? retouch(kit, change) : { kit, short: false };
      if (retouched.short) short.add(result.finish);
      kits.set(key, fits ? retouched.kit : readKit(leaveMapsOff(retouched.kit, isBeyond(sets))));
    }
    if (!fits) cut.set(result.slot.slot, (cut.get(result.slot.slot) ?? new Set()).add(result.finish));
  }
  const findings = [...[...cut].map(([slot, codes]) => toFinding(slot, [...codes])), ...[...short].map(toReach)];
  return { kits, byResult, findings };
}

function retouch(kit: FinishKit, change: SuppliedChange): { readonly kit: FinishKit; readonly short: boolean } {
  const json = { ...kit.json, materials: structuredClone(kit.json.materials!) };
  return { short: retouchSupplied(json.materials[0]!, change), kit: { json, bin: kit.bin } };
}

function toReach(code: string): Finding {
  return makeFinding('out-of-reach', {
    where: `finish ${code}`,
    message: `${code} has been made lighter or rougher than the maps of its supplied material can carry; its factors are at 1, which is the most. Choose a darker colour, or store the finish without the supplied material.`,
    seen: code,
  });
}

/** The fewest sets of UVs among the primitives that a result is worn by. */
function countSetsAtHand(json: GltfJson, { slot, sourceMaterial, hasUv }: FinishResult): number {
  const counts = slot.primitives.flatMap(({ mesh, primitive: p }) => {
    const primitive = json.meshes?.[mesh]?.primitives[p];
    if (!primitive || (primitive.material ?? null) !== sourceMaterial) return [];
    const sets = countUvSets(primitive);
    return sets > 0 === hasUv ? [sets] : [];
  });
  return counts.length > 0 ? Math.min(...counts) : 0;
}

function toFinding(slot: string, codes: readonly string[]): Finding {
  const [which, are] = codes.length === 1 ? [codes[0]!, 'is'] : [`${codes.length} finishes`, 'are'];
  return makeFinding('missing-uv', {
    where: `slot ${slot}`,
    message: `The parts of “${slot}” lack a set of UVs by which maps of ${which} ${are} laid; those maps are left off there. Export the part with the UVs of the part the finish came on, or choose another finish.`,
    seen: codes,
  });
}

/** A supplied material as a swatch shows it: on a ball with one set of UVs. */
export function fitToSwatch(glb: Uint8Array, change: SuppliedChange | null): Uint8Array {
  const isOff = isBeyond(1);
  const kit = readKit(glb);
  return leaveMapsOff(change ? retouch(kit, change).kit : kit, (use) => isOff(use) || isOcclusion(use));
}

function suppliedOf(result: PlannedResult, finishes: WriteRequest['finishes']): string | null {
  return result.kind === 'finish' ? (finishes.get(foldCode(result.finish))?.supplied ?? null) : null;
}

/** The JSON and BIN chunk of a GLB that was written here (glTF 2.0 §4.4), and is known to be whole. */
function readKit(glb: Uint8Array): FinishKit {
  const file = Buffer.from(glb.buffer, glb.byteOffset, glb.byteLength);
  const jsonBytes = file.readUInt32LE(12);
  const { json } = mendJson(parseGltf(file.subarray(20, 20 + jsonBytes)));
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
