import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import { count } from '../texts/format-text.ts';
import { BAKED_LIMIT_PX, type NotCombined } from './plan-normals.ts';

/** A finish whose normals a slot would have combined with its part's, and which of the two lies there instead. */
export interface NormalsApart {
  readonly slot: Pick<Slot, 'slot' | 'label'>;
  readonly finish: string;
  readonly kept: 'part' | 'finish';
  readonly reason: NotCombined;
}

/** One finding for each slot, reason and map that is kept: which finishes, what stood against it, what would settle it. */
export function judgeNormals(apart: readonly NormalsApart[]): Finding[] {
  const groups = new Map<string, NormalsApart[]>();
  for (const item of apart) {
    const key = JSON.stringify([
      item.slot.slot,
      item.kept,
      item.reason.why,
      item.reason.why === 'unreadable' && item.reason.map,
    ]);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return [...groups.values()].map(toFinding);
}

function toFinding(group: readonly NormalsApart[]): Finding {
  const { slot, kept } = group[0]!;
  const finishes = [...new Set(group.map(({ finish }) => finish))];
  // of several sizes the largest says most
  const reason = group.map((item) => item.reason).reduce((worst, next) => (needs(next) > needs(worst) ? next : worst));
  const { why, remedy, expected } = say(reason);
  const stays = kept === 'part' ? 'the part’s own stays' : 'the finish’s stays';
  return makeFinding('normals-not-combined', {
    where: `slot ${slot.slot}`,
    place: `“${slot.label}” in ${finishes.length === 1 ? finishes[0] : count(finishes.length, 'finish', 'finishes')}`,
    message: `The normal maps of “${slot.label}” and of ${count(finishes.length, 'finish', 'finishes')} laid on it are not combined, and ${stays}: ${why}. ${remedy}`,
    seen: { finishes, kept, ...reason },
    expected,
  });
}

const needs = (reason: NotCombined) => (reason.why === 'too-fine' ? reason.neededPx : 0);

function say(reason: NotCombined): { readonly why: string; readonly remedy: string; readonly expected: string } {
  switch (reason.why) {
    case 'too-fine':
      return {
        why: `a map of both would need ${reason.neededPx} px a side, where ${BAKED_LIMIT_PX} px are the most`,
        remedy:
          'Use a coarser normal map, spread the part over more of its UVs, or choose which of the two the slot shows.',
        expected: `${BAKED_LIMIT_PX} px or less`,
      };
    case 'beyond-square':
      return {
        why: reason.bounds
          ? `the part’s UVs run from ${sayUv(reason.bounds.min)} to ${sayUv(reason.bounds.max)}, and the maps do not repeat with them`
          : 'the part’s UVs cannot be read',
        remedy: 'Export the part with UVs between 0 and 1, or choose which of the two the slot shows.',
        expected: 'UVs between 0 and 1',
      };
    case 'other-uv-set':
      return {
        why: 'the part’s map is laid by another set of UVs than the finish’s',
        remedy: `Lay the part’s normal map by TEXCOORD_${reason.texCoord}, or choose which of the two the slot shows.`,
        expected: `TEXCOORD_${reason.texCoord}`,
      };
    case 'unreadable':
      return {
        why: `the ${reason.map}’s map cannot be read here, as KTX2 and damaged images cannot`,
        remedy: `Give the ${reason.map} a normal map as PNG, or choose which of the two the slot shows.`,
        expected: 'PNG, JPEG or WebP',
      };
    case 'tangents-differ':
      return {
        why: 'the part’s map is laid turned, and only some of its primitives have tangents',
        remedy: 'Export all of them with tangents, or none, or choose which of the two the slot shows.',
        expected: 'tangents on all primitives of the material, or on none',
      };
  }
}

const sayUv = (uv: readonly [number, number]) => `(${uv.map((value) => Number(value.toFixed(2))).join(', ')})`;
