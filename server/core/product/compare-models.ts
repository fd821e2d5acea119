import type { Sliced } from '../slices.ts';
import { MATERIAL_CHANGES, MODEL_CHANGES } from '../texts/change-texts.ts';
import { type MatchedModel, type Matching, makeFinder, PIECES_SLICE, type SlotMatch } from './match-slots.ts';
import type { Slot } from './slot.ts';
import type { Survey, SurveyedMaterial } from './survey.ts';

/** A figure of the current model and of the new one. */
export interface Change<T> {
  readonly before: T;
  readonly after: T;
}

/** The changes between two models of the same product. */
export interface ModelChanges {
  readonly matches: readonly SlotMatch[];
  readonly lost: readonly string[];
  /** Names of new materials. */
  readonly added: readonly string[];
  readonly size: Change<Survey['size']>;
  readonly bytes: Change<number>;
  readonly triangles: Change<number>;
  readonly draws: Change<number>;
  /** Counts of pieces: same (equal, or of the same shape near the same place), added, and gone. */
  readonly pieces: { readonly same: number; readonly added: number; readonly gone: number };
  /** Slots with a new number of metres per UV unit. Their maps change scale unless the UVs are made again. */
  readonly density: readonly ({ readonly slot: string } & Change<number | null>)[];
  /** Slots whose material properties changed. */
  readonly materials: readonly { readonly slot: string; readonly changes: readonly string[] }[];
  /** All changes in sentences, most important first. */
  readonly lines: readonly string[];
}

/** A smaller share is float noise of another export. */
const DENSITY_SHARE = 0.01;
/** Sizes within half a millimetre are equal. */
const SIZE_MM = 0.5;

/** Compares the current model with a new one after matching their slots. */
export function* compareModels(
  slots: readonly Slot[],
  before: MatchedModel & { readonly bytes: number },
  after: MatchedModel & { readonly bytes: number },
  matching: Matching,
): Sliced<ModelChanges> {
  const bySlot = new Map(slots.map((slot) => [slot.slot, slot]));
  const pairs = matching.matches.flatMap(({ slot, material }) => {
    const was = before.survey.materials[bySlot.get(slot)?.materials[0] ?? -1];
    const is = after.survey.materials[material ?? -1];
    return was && is ? [{ slot, was, is }] : [];
  });
  const find = yield* makeFinder(after);
  let same = 0;
  for (const [at, piece] of before.pieces.entries()) {
    if (at % PIECES_SLICE === PIECES_SLICE - 1) yield;
    if (find(piece, before).size > 0) same++;
  }
  const changes: Omit<ModelChanges, 'lines'> = {
    matches: matching.matches,
    lost: matching.lost,
    added: matching.added.map(
      (material) => after.survey.materials[material ?? -1]?.name || MODEL_CHANGES.unnamedMaterial,
    ),
    size: { before: before.survey.size, after: after.survey.size },
    bytes: { before: before.bytes, after: after.bytes },
    triangles: { before: before.survey.counts.triangles, after: after.survey.counts.triangles },
    draws: { before: before.survey.counts.draws, after: after.survey.counts.draws },
    pieces: { same, added: Math.max(0, after.pieces.length - same), gone: before.pieces.length - same },
    density: pairs.flatMap(({ slot, was, is }) =>
      differs(was.metresPerUv, is.metresPerUv) ? [{ slot, before: was.metresPerUv, after: is.metresPerUv }] : [],
    ),
    materials: pairs.flatMap(({ slot, was, is }) => {
      const list = [...listMaterialChanges(was, is), ...listMapChanges(was, before.survey, is, after.survey)];
      return list.length > 0 ? [{ slot, changes: list }] : [];
    }),
  };
  return { ...changes, lines: describe(changes, bySlot) };
}

function differs(a: number | null, b: number | null): boolean {
  if (a === null || b === null) return a !== b;
  return Math.abs(a - b) > DENSITY_SHARE * Math.max(a, b);
}

function listMaterialChanges(was: SurveyedMaterial, is: SurveyedMaterial): string[] {
  const list: string[] = [];
  if (was.name !== is.name) list.push(MATERIAL_CHANGES.name(was.name, is.name));
  const uses = (material: SurveyedMaterial) => material.maps.map(({ use }) => use.split('.').pop()!).sort();
  const gone = uses(was).filter((use) => !uses(is).includes(use));
  const added = uses(is).filter((use) => !uses(was).includes(use));
  if (gone.length > 0) list.push(MATERIAL_CHANGES.mapsGone(gone));
  if (added.length > 0) list.push(MATERIAL_CHANGES.mapsAdded(added));
  if (was.alphaMode !== is.alphaMode) list.push(MATERIAL_CHANGES.alphaMode(was.alphaMode, is.alphaMode));
  if (was.doubleSided !== is.doubleSided) list.push(MATERIAL_CHANGES.sides(is.doubleSided));
  return list;
}

const CHANNELS = ['red', 'green', 'blue', 'alpha'];
/** Factors within half an 8-bit code are equal. */
const FACTOR = 0.002;
/** Map means within this belong to the same map from another encoder. */
const MEAN = 0.01;

function listMapChanges(was: SurveyedMaterial, inWas: Survey, is: SurveyedMaterial, inIs: Survey): string[] {
  const list: string[] = [];
  const colours = was.factors.baseColor.flatMap((value, i) =>
    Math.abs(value - is.factors.baseColor[i]!) > FACTOR ? [CHANNELS[i]!] : [],
  );
  if (colours.length > 0) list.push(MATERIAL_CHANGES.baseColour(colours));
  for (const name of ['metallic', 'roughness'] as const) {
    const [before, after] = [was.factors[name], is.factors[name]];
    if (Math.abs(before - after) > FACTOR) list.push(MATERIAL_CHANGES.factor(name, before, after));
  }
  for (const map of is.maps) {
    const before = was.maps.find(({ use }) => use === map.use);
    const [old, now] = [inWas.images[before?.image ?? -1], inIs.images[map.image ?? -1]];
    if (!before || !old || !now) continue;
    const name = map.use.split('.').pop()!;
    if (old.widthPx !== now.widthPx || old.heightPx !== now.heightPx) {
      list.push(MATERIAL_CHANGES.mapSize(name, `${old.widthPx} × ${old.heightPx}`, `${now.widthPx} × ${now.heightPx}`));
    } else if (
      old.content &&
      now.content?.channels.some(({ mean }, i) => Math.abs(mean - (old.content!.channels[i]?.mean ?? mean)) > MEAN)
    ) {
      list.push(MATERIAL_CHANGES.mapImage(name));
    }
  }
  if (!was.neutralDetail !== !is.neutralDetail) list.push(MATERIAL_CHANGES.neutralDetail(Boolean(is.neutralDetail)));
  return list;
}

function describe(changes: Omit<ModelChanges, 'lines'>, slots: ReadonlyMap<string, Slot>): string[] {
  const label = (slot: string) => slots.get(slot)?.label ?? slot;
  const { lost, added, matches, size, bytes, triangles, draws, pieces, density, materials } = changes;
  const lines: string[] = [];
  if (lost.length > 0) lines.push(MODEL_CHANGES.lost(lost.map(label)));
  if (added.length > 0) lines.push(MODEL_CHANGES.added(added));
  lines.push(MODEL_CHANGES.found(matches.length, lost.length));
  for (const { slot, by } of matches) {
    if (by !== 'name') lines.push(MODEL_CHANGES.foundOtherwise(label(slot), by === 'pieces'));
  }
  if (size.before && size.after) {
    lines.push(
      isSameSize(size.before, size.after)
        ? MODEL_CHANGES.sameSize(size.after)
        : MODEL_CHANGES.size(size.before, size.after),
    );
  }
  lines.push(MODEL_CHANGES.bytes(bytes.before, bytes.after));
  if (triangles.before !== triangles.after) lines.push(MODEL_CHANGES.triangles(triangles.before, triangles.after));
  if (draws.before !== draws.after) lines.push(MODEL_CHANGES.draws(draws.before, draws.after));
  const { same, added: newPieces, gone } = pieces;
  if (same + newPieces + gone > 0) lines.push(MODEL_CHANGES.pieces(same, newPieces, gone));
  for (const { slot, before, after } of density) lines.push(MODEL_CHANGES.density(label(slot), before, after));
  for (const { slot, changes: list } of materials) lines.push(MODEL_CHANGES.material(label(slot), list));
  return lines;
}

type Size = NonNullable<Survey['size']>;

function isSameSize(a: Size, b: Size): boolean {
  return (['widthMm', 'depthMm', 'heightMm'] as const).every((key) => Math.abs(a[key] - b[key]) <= SIZE_MM);
}
