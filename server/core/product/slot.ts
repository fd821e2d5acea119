import { toKey, toName } from '../codes.ts';
import type { Family } from '../finish/finish.ts';
import type { Options } from '../line/line.ts';
import type { Survey } from './survey.ts';

/** Properties of the part that stay when its finish changes. */
export interface Keep {
  /**
   * Whether the normal map of the part (seams, stitches) or of the finish (weave, grain) shows; see `readNormalKeep`.
   */
  readonly normal: boolean | NormalKeep;
  readonly occlusion: boolean;
  /** Alpha mode, cutoff and the alpha of the colour map (cane, mesh, perforated sheet). */
  readonly alpha: boolean;
  /** A neutral detail map in place of the colour map: the part's pattern under the finish's colour. */
  readonly detail: boolean;
  /** The part's roughness map, as relative wear: its variation stays, and its mean becomes the finish's roughness. */
  readonly wear: boolean;
}

/**
 * Which normal map a slot shows if part and finish both have one. `part` and `finish` select one. The other two bake
 * both into one map, and name the fallback if that is impossible.
 */
export const NORMAL_KEEPS = ['both-or-part', 'both-or-finish', 'part', 'finish'] as const;
export type NormalKeep = (typeof NORMAL_KEEPS)[number];

/**
 * Reads a slot's setting for normal maps: true is the part's, false the finish's. Both show only if a slot asks for it
 * by name, because baking takes seconds and megabytes for every pair of maps.
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
  /** Name of the original material, used to find the slot in the next revision. */
  readonly materialName: string;
  /** Indices in the model; empty if the current model lacks it. `null` is glTF's default material. */
  readonly materials: readonly (number | null)[];
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
  readonly triangles: number;
  readonly position: string | null;
  readonly options: Options | null;
  readonly fixed: boolean;
  readonly keep: Keep;
  /**
   * Direction of the grain on this slot, degrees counter-clockwise, added to the finish's own direction; see
   * `directionOf`.
   */
  readonly grainDegrees: number;
  /**
   * Settings that a person made, which the model must not change. Absent in a slot older than this field: then all
   * settings count as made by a person, so that nothing changes by itself.
   */
  readonly said?: readonly SlotSetting[];
  /** Directions per family that replace `grainDegrees`. Never stored: computed if nobody has set a direction. */
  readonly directions?: Partial<Record<Family, number>>;
}

/** `grain`: the direction. `normal`: the choice of normal map. */
export type SlotSetting = 'grain' | 'normal';

/** Direction of a finish on a slot, degrees counter-clockwise, added to the finish's own direction. */
export function directionOf(slot: Pick<Slot, 'grainDegrees' | 'directions'>, family: Family): number {
  return slot.directions?.[family] ?? slot.grainDegrees;
}

/** The position of a slot in a revision of the model. */
export type SlotPlace = Pick<Slot, 'slot' | 'materialName' | 'materials'>;

/** The slot of each material of a new model, by material index (null: glTF's default material). */
export type Claims = ReadonlyMap<number | null, string>;

const UNNAMED = 'unnamed';

/**
 * Derives the slots of a model: one for each material that draws triangles, in the order of the materials. Keys come
 * from the material's name and are numbered on collision. Slots from earlier revisions keep their key and settings.
 * Claims are matched first, then equal material names (materials with one name keep their order). Slots that the model
 * no longer has stay, without primitives. If a slot's material was renamed or split, the slot takes the new name,
 * unless a person changed it or a schedule uses it.
 * @param inUse keys of slots with choices in a schedule
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
      // Nobody has named or used it yet, so it takes the new name.
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

/** Whether a person has changed the slot since it was derived. */
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
  // `constructor` and similar names are properties of every object, so they cannot be keys.
  const base = wanted in {} ? `${wanted}-slot` : wanted;
  let key = base;
  for (let n = 2; taken.has(key); n++) key = `${base}-${n}`;
  taken.add(key);
  return key;
}
