import type { Lab } from '../../../server/core/colour/lab.ts';
import { labToXyz } from '../../../server/core/colour/xyz-lab.ts';
import { judgeFinish } from '../../../server/core/finish/judge-finish.ts';
import type { DifferenceFormula } from '../../../server/core/finish/tolerances.ts';
import type { Draft } from './resolve-draft.ts';

const FORMULAS: Readonly<Record<DifferenceFormula, string>> = {
  ab: 'CIELAB ΔE*ab',
  'cmc-2-1': 'CMC(2:1)',
  de2000: 'CIEDE2000',
};

/** Out of gamut by less than this nobody sees. */
const SEEN_DELTA_E = 0.5;

/** How far what is delivered is from what was specified, and whether that is near enough: a sentence, then small print. */
export function describeDistance({ finish, resolved }: Pick<Draft, 'finish' | 'resolved'>): {
  readonly words: string;
  readonly small: readonly string[];
} {
  if (resolved.supplied !== null && !resolved.suppliedChange) {
    return { words: 'Delivered is the material it came with, to the letter.', small: [] };
  }
  const { formula, limit, source, difference, within } = judgeFinish(finish, resolved);
  const { delivered } = resolved;
  if (!delivered || difference === null) return { words: 'The delivered colour is not measured yet.', small: [] };
  const deltaE00 = delivered.deltaE;
  const verdict = within === null ? '.' : `: ${within ? 'within' : 'beyond'} the tolerance of its family.`;
  const allowed = limit === null ? '' : `, of ${limit} that pass`;
  return {
    words: `ΔE00 ${deltaE00.toFixed(1)} from specified to delivered${verdict}`,
    small: [
      `${FORMULAS[formula]} ${difference.toFixed(1)}${allowed}: ${source}.`,
      ...(resolved.estimated
        ? [
            `What is specified is estimated itself: within ΔE00 ${resolved.estimated.typicalDeltaE} as a rule, seldom over ${resolved.estimated.worstDeltaE}.`,
          ]
        : []),
      ...describeLevelled(resolved),
      ...(resolved.outOfGamutDeltaE > SEEN_DELTA_E ? ['The specified chip is shown as far as this screen goes.'] : []),
      ...(resolved.includedLab ? ['The reflection of the surface, which the reading includes, is taken out.'] : []),
    ],
  };
}

/** What is done to the colour map so that its mean is the colour. */
function describeLevelled({ levelled, colourFrom }: Draft['resolved']): string[] {
  if (!levelled) return [];
  if (colourFrom === 'map') return ['The colour is the mean of the colour map.'];
  const { contrast } = levelled;
  if (contrast === null) return ['The colour map is multiplied so that its mean is the specified colour.'];
  const flatter = contrast < 1 ? ` with ${Math.round(contrast * 100)} % of its contrast` : '';
  return [`The colour map is delivered brighter${flatter}, so that its mean can be the specified colour.`];
}

/** A colour for a browser to show as far as its screen goes, outside sRGB too (CSS Color 4, `color(xyz-d65 …)`). */
export function toCssColour(lab: Lab): string {
  const xyz = labToXyz(lab, 'D65', '2deg').map((value) => (value / 100).toFixed(5));
  return `color(xyz-d65 ${xyz.join(' ')})`;
}
