import { NAME_LENGTH, toKey } from '../codes.ts';
import type { Options } from '../line/options.ts';
import type { Survey } from './survey.ts';

/** What belongs to the part and stays when its finish changes. */
export interface Keep {
  /** The part's normal map (seams, stitches); when false, or when it has none, the finish's own is used. */
  readonly normal: boolean;
  readonly occlusion: boolean;
  /** Alpha mode, cutoff and the alpha of the colour map (cane, mesh, perforated sheet). */
  readonly alpha: boolean;
}

export const KEEP_ALL: Keep = { normal: true, occlusion: true, alpha: true };

/** A swappable place on one product: the primitives that change finish together. */
export interface Slot {
  readonly slot: string;
  readonly label: string;
  /** Name of the material it was derived from; how it is found again in the next revision. */
  readonly materialName: string;
  /** Indices in the model; empty when the current model no longer has it. `null` stands for glTF's default material. */
  readonly materials: readonly (number | null)[];
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
  readonly triangles: number;
  readonly position: string | null;
  readonly options: Options | null;
  readonly fixed: boolean;
  readonly keep: Keep;
  /** Direction of the grain on this slot, degrees counter-clockwise, added to the finish's own. */
  readonly grainDegrees: number;
}

const UNNAMED = 'unnamed';

/**
 * Derives the slots of a model: one for each material that draws triangles, in the order of the materials.
 * Keys come from the material's name and are numbered on collision. Slots known from earlier revisions keep their key
 * and what was said of them, by material name (materials that share a name keep their order among themselves);
 * those the model no longer has stay, with no primitives.
 */
export function deriveSlots(survey: Survey, known: readonly Slot[] = []): Slot[] {
  const taken = new Set(known.map((slot) => slot.slot));
  const unclaimed = new Set(known);
  const derived: Slot[] = [];
  for (const group of groupByMaterial(survey)) {
    const earlier = [...unclaimed].find((slot) => slot.materialName === group.name);
    if (earlier) unclaimed.delete(earlier);
    const base: Slot = earlier ?? {
      slot: freeKey(group.name, taken),
      label: toLabel(group.name) || 'Unnamed',
      materialName: group.name,
      materials: [],
      primitives: [],
      triangles: 0,
      position: null,
      options: null,
      fixed: false,
      keep: KEEP_ALL,
      grainDegrees: 0,
    };
    derived.push({
      ...base,
      materials: [group.material],
      primitives: group.primitives,
      triangles: group.triangles,
    });
  }
  for (const slot of unclaimed) derived.push({ ...slot, materials: [], primitives: [], triangles: 0 });
  return derived;
}

function groupByMaterial(survey: Survey) {
  const groups = new Map<
    number,
    { material: number | null; name: string; primitives: { mesh: number; primitive: number }[]; triangles: number }
  >();
  for (const primitive of survey.primitives) {
    if (primitive.triangles === 0 || primitive.uses === 0) continue;
    const key = primitive.material ?? -1;
    let group = groups.get(key);
    if (!group) {
      const name = primitive.material === null ? '' : (survey.materials[primitive.material]?.name ?? '');
      group = { material: primitive.material, name, primitives: [], triangles: 0 };
      groups.set(key, group);
    }
    group.primitives.push({ mesh: primitive.mesh, primitive: primitive.primitive });
    group.triangles += primitive.triangles;
  }
  return [...groups.values()].sort((a, b) => (a.material ?? -1) - (b.material ?? -1));
}

/** A material's name as a label: as long as a name may be, without control characters. */
function toLabel(name: string): string {
  const clean = name
    .normalize('NFC')
    .replace(/\p{Cc}+/gu, ' ')
    .trim();
  return [...clean].slice(0, NAME_LENGTH.max).join('').trim();
}

function freeKey(name: string, taken: Set<string>): string {
  const wanted = toKey(name) || UNNAMED;
  // `constructor` and its like are properties of every object, and make poor keys
  const base = wanted in {} ? `${wanted}-slot` : wanted;
  let key = base;
  for (let n = 2; taken.has(key); n++) key = `${base}-${n}`;
  taken.add(key);
  return key;
}
