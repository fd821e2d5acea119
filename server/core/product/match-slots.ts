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
/** If area, UV scale and coverage agree within this, they belong to the same part (judgement). */
const MEASURE_SHARE = 0.05;

/**
 * Finds the slots of one model in another: by material name, then by shape and place of the pieces, then by area and UV
 * layout. Each slot and each material matches once.
 */
export function matchSlots(slots: readonly Slot[], before: MatchedModel, after: MatchedModel): Matching {
  const open = new Map(slots.filter((slot) => slot.primitives.length > 0).map((slot) => [slot.slot, slot]));
  const free = new Set(listDrawn(after.survey));
  const matches: SlotMatch[] = [];
  const match = (slot: string, material: number | null, by: MatchedBy) => {
    open.delete(slot);
    free.delete(material);
    matches.push({ slot, material, by });
  };
  for (const slot of open.values()) {
    if (slot.materialName === '') continue;
    for (const material of free) {
      if (nameOf(after.survey, material) !== slot.materialName) continue;
      match(slot.slot, material, 'name');
      break;
    }
  }
  for (const [slot, material] of pairByPieces([...open.values()], [...free], before, after)) {
    match(slot, material, 'pieces');
  }
  for (const [slot, material] of pairByMeasure([...open.values()], [...free], before, after)) {
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
  for (const slot of slots) {
    for (const material of slot.materials) {
      if (material === null) {
        claims.set(null, slot.slot);
        continue;
      }
      const heirs = origins.flatMap((origin, index) => (origin === material ? [index] : []));
      const heir = heirs.find((index) => survey.materials[index]?.name === slot.materialName) ?? heirs[0];
      if (heir !== undefined && !claims.has(heir)) claims.set(heir, slot.slot);
    }
  }
  return claims;
}

function pairByPieces(
  slots: readonly Slot[],
  materials: readonly (number | null)[],
  before: MatchedModel,
  after: MatchedModel,
): [string, number | null][] {
  if (slots.length === 0 || materials.length === 0) return [];
  const scores: { slot: string; material: number | null; share: number }[] = [];
  const now = materials.map((material) => ({ material, find: makeFinder(after, [material]) }));
  for (const slot of slots) {
    const findSlot = makeFinder(before, slot.materials);
    for (const { material, find } of now) {
      // Compares both directions: a slot of a few pieces does not claim a material that covers everything.
      const found = shareFound(before, slot.materials, find);
      if (found < PIECES_SHARE) continue;
      scores.push({ slot: slot.slot, material, share: Math.min(found, shareFound(after, [material], findSlot)) });
    }
  }
  return takeBest(scores.filter((score) => score.share >= PIECES_SHARE));
}

/** Share of the area of some materials whose pieces the finder knows. */
function shareFound(model: MatchedModel, materials: readonly (number | null)[], find: Finder): number {
  let [all, found] = [0, 0];
  for (const piece of model.pieces) {
    if (!materials.includes(piece.material)) continue;
    all += piece.areaM2;
    if (find(piece, model)) found += piece.areaM2;
  }
  return all > 0 ? found / all : 0;
}

type Finder = (piece: Piece, from: MatchedModel) => boolean;

/**
 * Makes a test for pieces: whether this model, or some of its materials, has the same piece, or one of the same shape
 * near the same place. Places are indexed in cells, so that thousands of screws of one shape are not all compared.
 */
export function makeFinder({ pieces, survey }: MatchedModel, materials?: readonly (number | null)[]): Finder {
  const ids = new Set<string>();
  const cells = new Map<string, number[]>();
  for (const piece of pieces) {
    if (materials && !materials.includes(piece.material)) continue;
    ids.add(piece.piece);
    const [x, y, z] = placeOf(piece, survey) as [number, number, number];
    const key = cellOf(
      piece.shape,
      Math.floor(x / PLACE_SHARE),
      Math.floor(y / PLACE_SHARE),
      Math.floor(z / PLACE_SHARE),
    );
    const places = cells.get(key);
    if (places) places.push(x, y, z);
    else cells.set(key, [x, y, z]);
  }
  return (piece, from) => {
    if (ids.has(piece.piece)) return true;
    const [x, y, z] = placeOf(piece, from.survey) as [number, number, number];
    const [cx, cy, cz] = [Math.floor(x / PLACE_SHARE), Math.floor(y / PLACE_SHARE), Math.floor(z / PLACE_SHARE)];
    for (let near = 0; near < 27; near++) {
      const [dx, dy, dz] = [(near % 3) - 1, (Math.floor(near / 3) % 3) - 1, Math.floor(near / 9) - 1];
      const places = cells.get(cellOf(piece.shape, cx! + dx, cy! + dy, cz! + dz));
      if (!places) continue;
      for (let i = 0; i < places.length; i += 3) {
        if (Math.hypot(places[i]! - x, places[i + 1]! - y, places[i + 2]! - z) <= PLACE_SHARE) return true;
      }
    }
    return false;
  };
}

const cellOf = (shape: string, x: number, y: number, z: number) => `${shape} ${x} ${y} ${z}`;

/** The middle of a piece from the model's low corner, as shares of the model's largest side. Independent of units. */
function placeOf({ box }: Piece, { box: whole }: Survey): number[] {
  if (!whole) return [0, 0, 0];
  const extent = Math.max(...whole.max.map((value, axis) => value - whole.min[axis]!)) || 1;
  return whole.min.map((low, axis) => ((box.min[axis]! + box.max[axis]!) / 2 - low) / extent);
}

function pairByMeasure(
  slots: readonly Slot[],
  materials: readonly (number | null)[],
  before: MatchedModel,
  after: MatchedModel,
): [string, number | null][] {
  const scores = slots.flatMap((slot) => {
    const was = before.survey.materials[slot.materials[0] ?? -1];
    if (!was) return [];
    return materials.flatMap((material) => {
      const is = after.survey.materials[material ?? -1];
      const share = is ? likeness(was, before.survey, is, after.survey) : 0;
      return share >= 1 - MEASURE_SHARE ? [{ slot: slot.slot, material, share }] : [];
    });
  });
  // Measures alone cannot tell two similar materials apart.
  const lone = scores.filter(
    (score) => scores.filter((other) => other.slot === score.slot || other.material === score.material).length === 1,
  );
  return takeBest(lone);
}

/** The worst ratio of area share and UV measures; 1 if all are equal. */
function likeness(a: SurveyedMaterial, inA: Survey, b: SurveyedMaterial, inB: Survey): number {
  const total = ({ materials }: Survey) => materials.reduce((sum, { areaM2 }) => sum + areaM2, 0) || 1;
  const ratios = [ratio(a.areaM2 / total(inA), b.areaM2 / total(inB))];
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

function listDrawn(survey: Survey): (number | null)[] {
  const drawn = survey.primitives.filter((primitive) => primitive.uses > 0 && primitive.triangles > 0);
  return [...new Set(drawn.map((primitive) => primitive.material))].sort((a, b) => (a ?? -1) - (b ?? -1));
}

function nameOf(survey: Survey, material: number | null): string {
  return material === null ? '' : (survey.materials[material]?.name ?? '');
}
