import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { Wear } from './kept-maps.ts';

/** A demand this far above 1 is rounding. */
const ROUNDING = 1e-6;

/**
 * How a finish wears a part's roughness map: `demand` is what the factor has to be so that factor × mean is the finish's
 * roughness, and `factor` is that cut to 1, the most glTF takes. Null where the map makes way: for a roughness map of the
 * finish, for a supplied material, and under a metal when the map would take metalness away from it.
 */
export function layWear(
  { maps, supplied, roughness, metalness }: ResolvedFinish,
  { mean, fullMetal }: Wear,
): { readonly factor: number; readonly demand: number } | null {
  if (maps.roughness || supplied !== null || (metalness === 1 && !fullMetal)) return null;
  const demand = roughness / mean;
  return { factor: Math.min(1, demand), demand };
}

/**
 * What one finish cannot take over of the wear of one slot: a roughness beyond the smoothest of its maps (`out-of-reach`),
 * and maps that would take metalness from a metal (`wear-dropped`).
 */
export function judgeWear(
  slot: Pick<Slot, 'slot' | 'label'>,
  finish: ResolvedFinish,
  wears: readonly Wear[],
): Finding[] {
  if (finish.maps.roughness || finish.supplied !== null) return [];
  const laid = wears.filter((wear) => layWear(finish, wear) !== null);
  const where = `slot ${slot.slot}`;
  const place = `“${slot.label}” in ${finish.finish}`;
  const findings: Finding[] = [];
  if (laid.length < wears.length) {
    findings.push(
      makeFinding(
        'wear-dropped',
        { finish: finish.finish, slot: slot.label },
        {
          where,
          place,
          seen: { finish: finish.finish },
          expected: 'a blue channel of 1 all over',
        },
      ),
    );
  }
  const mean = Math.min(...laid.map((wear) => wear.mean));
  const demand = laid.length > 0 ? finish.roughness / mean : 0;
  if (demand > 1 + ROUNDING) {
    findings.push(
      makeFinding(
        'out-of-reach:wear',
        { finish: finish.finish, roughness: finish.roughness, slot: slot.label, mean, factor: demand },
        {
          where,
          place,
          seen: { finish: finish.finish, roughnessFactor: demand, roughness: mean },
          expected: { finish: finish.finish, roughnessFactor: '1 or less', roughness: finish.roughness },
        },
      ),
    );
  }
  return findings;
}
