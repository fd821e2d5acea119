import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { linearToHex } from '../colour/srgb.ts';
import { type LevelledMap, layMap, levelMap } from '../finish/level-map.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { NeutralDetail } from '../product/survey.ts';

/** Lays a part's neutral detail map so that its mean over the part is the finish's colour. */
export function divideByDetailMean(
  { baseColour }: Pick<ResolvedFinish, 'baseColour'>,
  detail: NeutralDetail,
): LevelledMap {
  const { mean, codes } = detail;
  // a map that cannot be read cannot be re-encoded either: the factor does what it can
  return codes ? levelMap(baseColour, codes) : layMap(baseColour, [mean, mean, mean], null, 0);
}

/** A distance below this is rounding. */
const ROUNDING = 0.1;

/**
 * What a finish and the detail maps of a slot do to each other, by the map that fits worst: a colour that is not reached
 * (`out-of-reach`), contrast that is given up for it (`pattern-flattened`). None where the finish lays a colour map of its
 * own, or is delivered as supplied.
 */
export function judgeDetail(
  slot: Pick<Slot, 'slot' | 'label'>,
  finish: ResolvedFinish,
  details: readonly NeutralDetail[],
): Finding[] {
  if (finish.maps.colour || finish.supplied !== null || details.length === 0) return [];
  const laid = details.map((detail) => {
    const levelled = divideByDetailMean(finish, detail);
    return { levelled, deltaE: deltaE2000(linearToLab(finish.baseColour), linearToLab(levelled.mean)) };
  });
  const where = `slot ${slot.slot}`;
  const place = `“${slot.label}” in ${finish.finish}`;
  const findings: Finding[] = [];
  const farthest = laid.reduce((worst, next) => (next.deltaE > worst.deltaE ? next : worst));
  if (farthest.deltaE > ROUNDING) {
    const hex = linearToHex(farthest.levelled.mean);
    findings.push(
      makeFinding(
        'out-of-reach:detail',
        { finish: finish.finish, wanted: finish.hex, slot: slot.label, hex, deltaE: farthest.deltaE },
        {
          where,
          place,
          seen: { finish: finish.finish, hex, deltaE: farthest.deltaE },
          expected: { finish: finish.finish, hex: finish.hex, deltaE: 0 },
        },
      ),
    );
  }
  const contrast = Math.min(...laid.map(({ levelled }) => levelled.contrast ?? 1));
  if (contrast < 1) {
    findings.push(
      makeFinding(
        'pattern-flattened:detail',
        { finish: finish.finish, slot: slot.label, contrast },
        {
          where,
          place,
          seen: { finish: finish.finish, contrast },
          expected: { contrast: 1 },
        },
      ),
    );
  }
  return findings;
}
