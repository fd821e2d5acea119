import type { Sliced } from '../slices.ts';
import type { Claims, Slot, SlotPlace } from './slot.ts';
import type { Piece, Survey, SurveyedMaterial } from './survey.ts';

/** How a slot was found in another model. */
type MatchedBy = 'name' | 'pieces' | 'uv-and-area';

export interface SlotMatch {
  readonly slot: string;
  /** Material of the new model. */
  readonly material: number | null;
  readonly by: MatchedBy;
}

export interface Matching {
  readonly matches: readonly SlotMatch[];
  /** Slots of the earlier model that the new one lacks. */
  readonly lost: readonly string[];
  /** Materials of the new model without an earlier slot. */
  readonly added: readonly (number | null)[];
}

/** The facts of a model that slot matching needs. */
export interface MatchedModel {
  readonly survey: Survey;
  readonly pieces: readonly Piece[];
}

/** A slot and a material match if the material contains this share of the slot's area. */
const PIECES_SHARE = 0.5;
/** A piece within this distance of its old place, as a share of the model's size, is the same piece (judgement). */
const PLACE_SHARE = 0.05;
/** Pieces for one slice: thousands of screws of one shape may be near each. */
export const PIECES_SLICE = 100;
/** If area, UV scale and coverage agree within this, they belong to the same part (judgement). */
const MEASURE_SHARE = 0.05;

/**
 * Finds the slots of one model in another: by material name, then by shape and place of the pieces, then by area and UV
 * layout. Each slot and each material matches once.
 */
export function* matchSlots(slots: readonly Slot[], before: MatchedModel, after: MatchedModel): Sliced<Matching> {
  const open = new Map(slots.filter((slot) => slot.primitives.length > 0).map((slot) => [slot.slot, slot]));
  const free = new Set(listDrawn(after.survey));
  const matches: SlotMatch[] = [];
  const match = (slot: string, material: number | null, by: MatchedBy) => {
    open.delete(slot);
    free.delete(material);
    matches.push({ slot, material, by });
  };
  const named = groupBy(free, (material) => nameOf(after.survey, material));
  for (const slot of open.values()) {
    // of several materials with one name, each slot takes the next
    const material = slot.materialName === '' ? undefined : named.get(slot.materialName)?.shift();
    if (material !== undefined) match(slot.slot, material, 'name');
  }
  for (const [slot, material] of yield* pairByPieces([...open.values()], [...free], before, after)) {
    match(slot, material, 'pieces');
  }
  for (const [slot, material] of yield* pairByMeasure([...open.values()], [...free], before, after)) {
    match(slot, material, 'uv-and-area');
  }
  return { matches, lost: [...open.keys()], added: [...free] };
}

export function toClaims(matching: Matching): Claims {
  return new Map(matching.matches.map(({ material, slot }) => [material, slot]));
}

/** Restores the slots of a revision that becomes current again. */
export function claimByPlaces(places: readonly SlotPlace[]): Claims {
  return new Map(places.flatMap(({ slot, materials }) => materials.map((material) => [material, slot] as const)));
}

/**
 * Assigns slots after repairs. If several materials come from one, the slot keeps the one with its name, or else the
 * first.
 */
export function claimByOrigin(slots: readonly Slot[], origins: readonly (number | null)[], survey: Survey): Claims {
  const claims = new Map<number | null, string>();
  const byOrigin = groupBy(origins.keys(), (index) => origins[index]!);
  for (const slot of slots) {
    for (const material of slot.materials) {
      if (material === null) {
        claims.set(null, slot.slot);
        continue;
      }
      const heirs = byOrigin.get(material) ?? [];
      const heir = heirs.find((index) => survey.materials[index]?.name === slot.materialName) ?? heirs[0];
      if (heir !== undefined && !claims.has(heir)) claims.set(heir, slot.slot);
    }
  }
  return claims;
}

function* pairByPieces(
  slots: readonly Slot[],
  materials: readonly (number | null)[],
  before: MatchedModel,
  after: MatchedModel,
): Sliced<[string, number | null][]> {
  if (slots.length === 0 || materials.length === 0) return [];
  const bySlotMaterial = new Map<number | null, Slot[]>();
  for (const slot of slots) {
    for (const material of slot.materials) {
      bySlotMaterial.set(material, [...(bySlotMaterial.get(material) ?? []), slot]);
    }
  }
  const order = new Map(materials.map((material, at) => [material, at]));
  const slotsOf = (material: number | null) => bySlotMaterial.get(material) ?? [];
  const findNow = yield* makeFinder(after, (material) => order.has(material));
  const findBefore = yield* makeFinder(before, (material) => bySlotMaterial.has(material));
  // Compares both directions: a slot of a few pieces does not claim a material that covers everything.
  const ofSlots = yield* sumShares(before, slotsOf, (piece) => [...findNow(piece, before)]);
  const ofMaterials = yield* sumShares(
    after,
    (material) => (order.has(material) ? [material] : []),
    (piece) => new Set([...findBefore(piece, after)].flatMap(slotsOf)),
  );
  const scores: { slot: string; material: number | null; share: number }[] = [];
  for (const slot of slots) {
    yield;
    const found = [...(ofSlots.get(slot) ?? [])].sort(([a], [b]) => order.get(a)! - order.get(b)!);
    for (const [material, share] of found) {
      if (share < PIECES_SHARE) continue;
      scores.push({ slot: slot.slot, material, share: Math.min(share, ofMaterials.get(material)?.get(slot) ?? 0) });
    }
  }
  return takeBest(scores.filter((score) => score.share >= PIECES_SHARE));
}

/**
 * For each owner of pieces, the share of its area that each other one has too.
 * @param ownersOf owners of the pieces of a material
 * @param find the others that have a piece
 */
function* sumShares<Owner, Other>(
  { pieces }: MatchedModel,
  ownersOf: (material: number | null) => readonly Owner[],
  find: (piece: Piece) => Iterable<Other>,
): Sliced<Map<Owner, Map<Other, number>>> {
  const all = new Map<Owner, number>();
  const found = new Map<Owner, Map<Other, number>>();
  for (const [at, piece] of pieces.entries()) {
    if (at % PIECES_SLICE === PIECES_SLICE - 1) yield;
    const owners = ownersOf(piece.material);
    if (owners.length === 0) continue;
    const others = [...find(piece)];
    for (const owner of owners) {
      all.set(owner, (all.get(owner) ?? 0) + piece.areaM2);
      const areas = found.get(owner) ?? new Map<Other, number>();
      for (const other of others) areas.set(other, (areas.get(other) ?? 0) + piece.areaM2);
      found.set(owner, areas);
    }
  }
  for (const [owner, areas] of found) {
    yield;
    const whole = all.get(owner)!;
    for (const [other, area] of areas) areas.set(other, whole > 0 ? area / whole : 0);
  }
  return found;
}

/** The materials of a model that have a piece. */
type Finder = (piece: Piece, from: MatchedModel) => ReadonlySet<number | null>;

/**
 * Makes a search for pieces: the materials of this model that have the same piece, or one of the same shape near the same
 * place. Places are indexed in cells, so that thousands of screws of one shape are not all compared.
 * @param isWanted leaves materials out
 */
export function* makeFinder(
  { pieces, survey }: MatchedModel,
  isWanted: (material: number | null) => boolean = () => true,
): Sliced<Finder> {
  const ids = new Map<string, Set<number | null>>();
  const cells = new Map<string, Map<number | null, number[]>>();
  for (const [at, piece] of pieces.entries()) {
    if (at % PIECES_SLICE === PIECES_SLICE - 1) yield;
    if (!isWanted(piece.material)) continue;
    const withId = ids.get(piece.piece);
    if (withId) withId.add(piece.material);
    else ids.set(piece.piece, new Set([piece.material]));
    const [x, y, z] = placeOf(piece, survey) as [number, number, number];
    const key = cellOf(
      piece.shape,
      Math.floor(x / PLACE_SHARE),
      Math.floor(y / PLACE_SHARE),
      Math.floor(z / PLACE_SHARE),
    );
    const cell = cells.get(key) ?? new Map<number | null, number[]>();
    cells.set(key, cell);
    const places = cell.get(piece.material);
    if (places) places.push(x, y, z);
    else cell.set(piece.material, [x, y, z]);
  }
  return (piece, from) => {
    const found = new Set(ids.get(piece.piece));
    const [x, y, z] = placeOf(piece, from.survey) as [number, number, number];
    const [cx, cy, cz] = [Math.floor(x / PLACE_SHARE), Math.floor(y / PLACE_SHARE), Math.floor(z / PLACE_SHARE)];
    for (let near = 0; near < 27; near++) {
      const [dx, dy, dz] = [(near % 3) - 1, (Math.floor(near / 3) % 3) - 1, Math.floor(near / 9) - 1];
      const cell = cells.get(cellOf(piece.shape, cx! + dx, cy! + dy, cz! + dz));
      for (const [material, places] of cell ?? []) {
        if (!found.has(material) && isNear(places, x, y, z)) found.add(material);
      }
    }
    return found;
  };
}

/** Whether one of some places, three numbers each, is near this one. */
function isNear(places: readonly number[], x: number, y: number, z: number): boolean {
  for (let i = 0; i < places.length; i += 3) {
    const dx = Math.abs(places[i]! - x);
    if (dx <= PLACE_SHARE && Math.hypot(dx, places[i + 1]! - y, places[i + 2]! - z) <= PLACE_SHARE) return true;
  }
  return false;
}

const cellOf = (shape: string, x: number, y: number, z: number) => `${shape} ${x} ${y} ${z}`;

/** The middle of a piece from the model's low corner, as shares of the model's largest side. Independent of units. */
function placeOf({ box }: Piece, { box: whole }: Survey): number[] {
  if (!whole) return [0, 0, 0];
  const extent = Math.max(...whole.max.map((value, axis) => value - whole.min[axis]!)) || 1;
  return whole.min.map((low, axis) => ((box.min[axis]! + box.max[axis]!) / 2 - low) / extent);
}

function* pairByMeasure(
  slots: readonly Slot[],
  materials: readonly (number | null)[],
  before: MatchedModel,
  after: MatchedModel,
): Sliced<[string, number | null][]> {
  const scores: { slot: string; material: number | null; share: number }[] = [];
  const [areaBefore, areaAfter] = [sumArea(before.survey), sumArea(after.survey)];
  for (const slot of slots) {
    yield;
    const was = before.survey.materials[slot.materials[0] ?? -1];
    if (!was) continue;
    for (const material of materials) {
      const is = after.survey.materials[material ?? -1];
      const share = is ? likeness(was, areaBefore, is, areaAfter) : 0;
      if (share >= 1 - MEASURE_SHARE) scores.push({ slot: slot.slot, material, share });
    }
  }
  // Measures alone cannot tell two similar materials apart.
  const ofSlot = groupBy(scores, ({ slot }) => slot);
  const ofMaterial = groupBy(scores, ({ material }) => material);
  return takeBest(
    scores.filter(({ slot, material }) => ofSlot.get(slot)!.length === 1 && ofMaterial.get(material)!.length === 1),
  );
}

const sumArea = ({ materials }: Survey) => materials.reduce((sum, { areaM2 }) => sum + areaM2, 0) || 1;

/** The worst ratio of area share and UV measures; 1 if all are equal. */
function likeness(a: SurveyedMaterial, areaOfA: number, b: SurveyedMaterial, areaOfB: number): number {
  const ratios = [ratio(a.areaM2 / areaOfA, b.areaM2 / areaOfB)];
  if (!a.uv !== !b.uv) return 0;
  if (a.uv && b.uv) ratios.push(ratio(a.uv.coverage, b.uv.coverage), 1 - Math.abs(a.uv.outside - b.uv.outside));
  return Math.min(...ratios);
}

function ratio(a: number, b: number): number {
  if (a === b) return 1;
  return a <= 0 || b <= 0 ? 0 : Math.min(a / b, b / a);
}

function takeBest(
  scores: readonly { slot: string; material: number | null; share: number }[],
): [string, number | null][] {
  const slots = new Set<string>();
  const materials = new Set<number | null>();
  const pairs: [string, number | null][] = [];
  for (const { slot, material } of [...scores].sort((a, b) => b.share - a.share)) {
    if (slots.has(slot) || materials.has(material)) continue;
    slots.add(slot);
    materials.add(material);
    pairs.push([slot, material]);
  }
  return pairs;
}

function groupBy<Item, Key>(items: Iterable<Item>, keyOf: (item: Item) => Key): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item));
    if (group) group.push(item);
    else groups.set(keyOf(item), [item]);
  }
  return groups;
}

function listDrawn(survey: Survey): (number | null)[] {
  const drawn = survey.primitives.filter((primitive) => primitive.uses > 0 && primitive.triangles > 0);
  return [...new Set(drawn.map((primitive) => primitive.material))].sort((a, b) => (a ?? -1) - (b ?? -1));
}

function nameOf(survey: Survey, material: number | null): string {
  return material === null ? '' : (survey.materials[material]?.name ?? '');
}
