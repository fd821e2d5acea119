import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { hexToLinear, linearToHex } from '../colour/srgb.ts';
import type { ColourSource, ColourSpecification, Finish } from './finish.ts';
import { type CodeCounts, meanOf } from './level-map.ts';

/** A colour nearer to the map's own mean than this is the map's own: below it nobody sees a difference. */
const SAME_DELTA_E = 0.5;

/**
 * Decides where the colour of a finish comes from: as it says, else from the map where no colour other than the map's own is
 * given. White beside a colour map is what tools write where the map has the colour, and counts as none.
 * @returns the source, and the colour that was specified; null where none was
 */
export function chooseColourSource(
  { colour, colourFrom }: Pick<Finish, 'colour' | 'colourFrom'>,
  hasMap: boolean,
  codes: CodeCounts | null,
): { readonly from: ColourSource; readonly colour: ColourSpecification | null } {
  if (!hasMap || colourFrom === 'specification') return { from: 'specification', colour: colour ?? null };
  const isWhite = colour !== undefined && 'hex' in colour && colour.hex === '#ffffff';
  if (colour === undefined || isWhite) return { from: 'map', colour: null };
  if (colourFrom === 'map' || (codes && isOwn(colour, codes))) return { from: 'map', colour };
  return { from: 'specification', colour };
}

/** Only colours on the screen's own terms can be copied off a map. */
function isOwn(colour: ColourSpecification, codes: CodeCounts): boolean {
  if (!('hex' in colour)) return false;
  const mean = meanOf(codes);
  if (colour.hex === linearToHex(mean)) return true;
  return deltaE2000(linearToLab(hexToLinear(colour.hex)), linearToLab(mean)) < SAME_DELTA_E;
}
