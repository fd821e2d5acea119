import { formatBytes, formatNumber, formatSize } from '../texts/format-text.ts';
import { type MatchedModel, type Matching, makeFinder, type SlotMatch } from './match-slots.ts';
import type { Slot } from './slot.ts';
import type { Survey, SurveyedMaterial } from './survey.ts';

/** A figure of the model that was current, and of the one that comes. */
export interface Change<T> {
  readonly before: T;
  readonly after: T;
}

/** What another model of the same product changes. */
export interface ModelChanges {
  readonly matches: readonly SlotMatch[];
  readonly lost: readonly string[];
  /** Names of materials that are new. */
  readonly added: readonly string[];
  readonly size: Change<Survey['size']>;
  readonly bytes: Change<number>;
  readonly triangles: Change<number>;
  readonly draws: Change<number>;
  /** Pieces that are as before (the same, or of that shape near that place), that came, and that went. */
  readonly pieces: { readonly same: number; readonly added: number; readonly gone: number };
  /** Slots whose metres per UV unit changed, so that maps come out at another scale unless they are laid anew. */
  readonly density: readonly ({ readonly slot: string } & Change<number | null>)[];
  /** Slots whose material says something else. */
  readonly materials: readonly { readonly slot: string; readonly changes: readonly string[] }[];
  /** All of it in sentences, most important first. */
  readonly lines: readonly string[];
}

/** Less than this share is float noise of another export. */
const DENSITY_SHARE = 0.01;
/** Sizes within half a millimetre are the same. */
const SIZE_MM = 0.5;

/** Compares the model that is current with one that comes, slots matched. */
export function compareModels(
  slots: readonly Slot[],
  before: MatchedModel & { readonly bytes: number },
  after: MatchedModel & { readonly bytes: number },
  matching: Matching,
): ModelChanges {
  const bySlot = new Map(slots.map((slot) => [slot.slot, slot]));
  const pairs = matching.matches.flatMap(({ slot, material }) => {
    const was = before.survey.materials[bySlot.get(slot)?.materials[0] ?? -1];
    const is = after.survey.materials[material ?? -1];
    return was && is ? [{ slot, was, is }] : [];
  });
  const find = makeFinder(after);
  const same = before.pieces.filter((piece) => find(piece, before)).length;
  const changes: Omit<ModelChanges, 'lines'> = {
    matches: matching.matches,
    lost: matching.lost,
    added: matching.added.map((material) => after.survey.materials[material ?? -1]?.name || 'unnamed material'),
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
  if (was.name !== is.name) list.push(`its name changed from “${was.name || 'unnamed'}” to “${is.name || 'unnamed'}”`);
  const uses = (material: SurveyedMaterial) => material.maps.map(({ use }) => use.split('.').pop()!).sort();
  const gone = uses(was).filter((use) => !uses(is).includes(use));
  const came = uses(is).filter((use) => !uses(was).includes(use));
  if (gone.length > 0) list.push(`it no longer has ${gone.join(', ')}`);
  if (came.length > 0) list.push(`it now has ${came.join(', ')}`);
  if (was.alphaMode !== is.alphaMode) list.push(`its alpha mode changed from ${was.alphaMode} to ${is.alphaMode}`);
  if (was.doubleSided !== is.doubleSided)
    list.push(is.doubleSided ? 'it is now double-sided' : 'it is now single-sided');
  return list;
}

const CHANNELS = ['red', 'green', 'blue', 'alpha'];
/** Factors within half an 8-bit code are the same. */
const FACTOR = 0.002;
/** Means of maps within this are those of the same map, written by another encoder. */
const MEAN = 0.01;

function listMapChanges(was: SurveyedMaterial, inWas: Survey, is: SurveyedMaterial, inIs: Survey): string[] {
  const list: string[] = [];
  const colours = was.factors.baseColor.flatMap((value, i) =>
    Math.abs(value - is.factors.baseColor[i]!) > FACTOR ? [CHANNELS[i]!] : [],
  );
  if (colours.length > 0) list.push(`its base colour factor changed in ${colours.join(', ')}`);
  for (const [name, key] of [
    ['metallic', 'metallic'],
    ['roughness', 'roughness'],
  ] as const) {
    const [before, after] = [was.factors[key], is.factors[key]];
    if (Math.abs(before - after) > FACTOR)
      list.push(`its ${name} factor changed from ${before.toFixed(2)} to ${after.toFixed(2)}`);
  }
  for (const map of is.maps) {
    const before = was.maps.find(({ use }) => use === map.use);
    const [old, now] = [inWas.images[before?.image ?? -1], inIs.images[map.image ?? -1]];
    if (!before || !old || !now) continue;
    const name = map.use.split('.').pop()!;
    if (old.widthPx !== now.widthPx || old.heightPx !== now.heightPx) {
      list.push(`its ${name} changed from ${old.widthPx} × ${old.heightPx} to ${now.widthPx} × ${now.heightPx} px`);
    } else if (
      old.content &&
      now.content?.channels.some(({ mean }, i) => Math.abs(mean - (old.content!.channels[i]?.mean ?? mean)) > MEAN)
    ) {
      list.push(`its ${name} is a different image`);
    }
  }
  if (!was.neutralDetail !== !is.neutralDetail) {
    list.push(is.neutralDetail ? 'its colour map is now neutral detail' : 'its colour map is no longer neutral detail');
  }
  return list;
}

function describe(changes: Omit<ModelChanges, 'lines'>, slots: ReadonlyMap<string, Slot>): string[] {
  const label = (slot: string) => slots.get(slot)?.label ?? slot;
  const lines: string[] = [];
  const otherwise = changes.matches.filter(({ by }) => by !== 'name');
  if (changes.lost.length > 0) {
    lines.push(`Not found in the new model: ${changes.lost.map(label).join(', ')}. Their settings are kept.`);
  }
  if (changes.added.length > 0) lines.push(`New: ${changes.added.join(', ')}.`);
  lines.push(
    changes.lost.length === 0
      ? `${changes.matches.length === 1 ? 'The slot was' : `All ${changes.matches.length} slots were`} found again.`
      : `${changes.matches.length} of ${changes.matches.length + changes.lost.length} slots were found again.`,
  );
  for (const { slot, by } of otherwise) {
    lines.push(
      `${label(slot)} was found by ${by === 'pieces' ? 'the shape and place of its pieces' : 'its area and UVs'}, because its material has another name.`,
    );
  }
  const { before, after } = changes.size;
  if (before && after && !sameSize(before, after))
    lines.push(`Size: ${formatSize(after)}, before ${formatSize(before)} (width × depth × height).`);
  else if (before && after) lines.push(`Size: ${formatSize(after)}, unchanged.`);
  lines.push(`File size: ${formatBytes(changes.bytes.after)}, before ${formatBytes(changes.bytes.before)}.`);
  if (changes.triangles.before !== changes.triangles.after) {
    lines.push(
      `Triangles: ${formatNumber(changes.triangles.after)}, before ${formatNumber(changes.triangles.before)}.`,
    );
  }
  if (changes.draws.before !== changes.draws.after) {
    lines.push(`Draw calls: ${formatNumber(changes.draws.after)}, before ${formatNumber(changes.draws.before)}.`);
  }
  const { same, added, gone } = changes.pieces;
  if (same + added + gone > 0) lines.push(`Pieces: ${same} unchanged, ${added} new, ${gone} removed.`);
  for (const { slot, before: was, after: is } of changes.density) {
    lines.push(
      `${label(slot)}: one UV unit is ${metres(is)}, before ${metres(was)}; maps of finishes are scaled to it.`,
    );
  }
  for (const { slot, changes: list } of changes.materials) lines.push(`${label(slot)}: ${list.join('; ')}.`);
  return lines;
}

type Size = NonNullable<Survey['size']>;

function sameSize(a: Size, b: Size): boolean {
  return (['widthMm', 'depthMm', 'heightMm'] as const).every((key) => Math.abs(a[key] - b[key]) <= SIZE_MM);
}

const metres = (value: number | null) => (value === null ? 'unknown' : `${value.toPrecision(3)} m`);
