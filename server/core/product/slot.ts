import { toKey, toName } from '../codes.ts';
import type { Family } from '../finish/finish.ts';
import type { Options } from '../line/line.ts';
import type { Survey } from './survey.ts';

/** What belongs to the part and stays when its finish changes. */
export interface Keep {
  /** Whose normal map is shown, the part's (seams, stitches) or the finish's (weave, grain); see `readNormalKeep`. */
  readonly normal: boolean | NormalKeep;
  readonly occlusion: boolean;
  /** Alpha mode, cutoff and the alpha of the colour map (cane, mesh, perforated sheet). */
  readonly alpha: boolean;
  /** A neutral detail map in the place of the colour map: pattern of the part under the finish's colour. */
  readonly detail: boolean;
  /** The part's roughness map, as relative wear: what varies stays, and its mean becomes the finish's roughness. */
  readonly wear: boolean;
}

/**
 * Whose normal map a slot shows where part and finish both have one. `part` and `finish` are one alone. The other two are
 * both, baked into one map, and say which it is where that cannot be done.
 */
export const NORMAL_KEEPS = ['both-or-part', 'both-or-finish', 'part', 'finish'] as const;
export type NormalKeep = (typeof NORMAL_KEEPS)[number];

/**
 * What a slot says of normal maps: yes is the part's, no is the finish's. Both are shown only where a slot asks for it in
 * words, since baking takes seconds and megabytes for every pair of maps.
 */
export function readNormalKeep(normal: Keep['normal']): NormalKeep {
  if (typeof normal === 'string') return normal;
  return normal ? 'part' : 'finish';
}

export const KEEP_ALL: Keep = { normal: true, occlusion: true, alpha: true, detail: true, wear: true };

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
  /** Direction of the grain on this slot, degrees counter-clockwise, added to the finish's own; see `directionOf`. */
  readonly grainDegrees: number;
  /**
   * What a person has said of it, so that it is not settled by the model. Absent in a slot from before slots were settled:
   * everything is then taken as said, so that nothing moves by itself.
   */
  readonly said?: readonly SlotSetting[];
  /** Directions of families in the place of `grainDegrees`. Never stored: worked out wherever nobody has said one. */
  readonly directions?: Partial<Record<Family, number>>;
}

/** `grain`: the direction. `normal`: whose normal map is shown. */
export type SlotSetting = 'grain' | 'normal';

/** Direction of a finish on a slot, degrees counter-clockwise, on top of the finish's own. */
export function directionOf(slot: Pick<Slot, 'grainDegrees' | 'directions'>, family: Family): number {
  return slot.directions?.[family] ?? slot.grainDegrees;
}

/** Where a slot was in a revision of the model. */
export type SlotPlace = Pick<Slot, 'slot' | 'materialName' | 'materials'>;

/** Which slot a material of a new model belongs to, by material index (null: glTF's default material). */
export type Claims = ReadonlyMap<number | null, string>;

const UNNAMED = 'unnamed';

/**
 * Derives the slots of a model: one for each material that draws triangles, in the order of the materials.
 * Keys come from the material's name and are numbered on collision. Slots known from earlier revisions keep their key and
 * what was said of them: those a claim names, then those of the same material name (materials that share a name keep
 * their order among themselves). Those the model no longer has stay, with no primitives. A slot whose material was renamed
 * or split is named after what it became, unless anything was said of it or a schedule uses it.
 * @param inUse keys of slots a schedule makes choices in
 */
export function deriveSlots(
  survey: Survey,
  known: readonly Slot[] = [],
  claims: Claims = new Map(),
  inUse: ReadonlySet<string> = new Set(),
): Slot[] {
  const taken = new Set(known.map((slot) => slot.slot));
  const unclaimed = new Set(known);
  const groups = groupByMaterial(survey);
  const found = new Map<number | null, Slot>();
  const claim = (material: number | null, slot: Slot | undefined) => {
    if (!slot || !unclaimed.delete(slot)) return;
    found.set(material, slot);
  };
  for (const { material } of groups) {
    const key = claims.get(material);
    if (key !== undefined)
      claim(
        material,
        find(unclaimed, (slot) => slot.slot === key),
      );
  }
  for (const { material, name } of groups) {
    if (!found.has(material))
      claim(
        material,
        find(unclaimed, (slot) => slot.materialName === name),
      );
  }
  const derived = groups.map(({ material, name, primitives, triangles }): Slot => {
    let base = found.get(material);
    if (base && base.materialName !== name) {
      // nobody has named or used it yet: it takes the name of what it is now
      if (!wasTouched(base) && !inUse.has(base.slot)) {
        taken.delete(base.slot);
        base = undefined;
      } else base = { ...base, materialName: name };
    }
    base ??= {
      slot: freeKey(name, taken),
      label: toName(name) || 'Unnamed',
      materialName: name,
      materials: [],
      primitives: [],
      triangles: 0,
      position: null,
      options: null,
      fixed: false,
      keep: KEEP_ALL,
      grainDegrees: 0,
      said: [],
    };
    return { ...base, materials: [material], primitives, triangles };
  });
  for (const slot of unclaimed) derived.push({ ...slot, materials: [], primitives: [], triangles: 0 });
  return derived;
}

/** Whether anybody has said anything of a slot since it was derived. */
function wasTouched(slot: Slot): boolean {
  const { normal, ...others } = { ...KEEP_ALL, ...slot.keep };
  const kept = readNormalKeep(normal) === readNormalKeep(KEEP_ALL.normal) && Object.values(others).every(Boolean);
  const unsaid = slot.said ? slot.said.length === 0 : slot.grainDegrees === 0;
  const plain = slot.position === null && slot.options === null && !slot.fixed && unsaid && kept;
  return !plain || slot.label !== (toName(slot.materialName) || 'Unnamed');
}

function find<T>(items: Iterable<T>, test: (item: T) => boolean): T | undefined {
  for (const item of items) if (test(item)) return item;
  return undefined;
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

function freeKey(name: string, taken: Set<string>): string {
  const wanted = toKey(name) || UNNAMED;
  // `constructor` and its like are properties of every object, and make poor keys
  const base = wanted in {} ? `${wanted}-slot` : wanted;
  let key = base;
  for (let n = 2; taken.has(key); n++) key = `${base}-${n}`;
  taken.add(key);
  return key;
}
