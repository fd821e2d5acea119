import { deltaE2000, linearToLab } from '../core/colour/lab.ts';
import { type LinearRgb, linearToHex } from '../core/colour/srgb.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import type { PatternMean } from '../core/sheet/plan-colour-card.ts';
import type { Context } from './context.ts';
import { once } from './once.ts';
import { digest } from './studio-files.ts';

type Measuring = Pick<Context, 'files' | 'imaging' | 'pictures'>;

/**
 * What a patterned finish comes to in the mean, in linear light: its colour, times the mean of its colour map over one
 * repeat. Null where the map is not decoded here (KTX2).
 */
export async function measurePattern(
  context: Measuring,
  { baseColour, maps, specifiedLab }: Pick<ResolvedFinish, 'baseColour' | 'maps' | 'specifiedLab'>,
): Promise<PatternMean | null> {
  const mean = maps.colour === undefined ? WHITE : await readMean(context, maps.colour);
  if (!mean) return null;
  const rgb = baseColour.map((value, channel) => value * mean[channel]!) as unknown as LinearRgb;
  return { hex: linearToHex(rgb), deltaE: deltaE2000(specifiedLab, linearToLab(rgb)) };
}

/** A finish without a colour map has its colour all over. */
const WHITE = [1, 1, 1] as const;

/** Measured once and kept beside the pictures: a large map takes some tenths of a second. */
async function readMean({ files, imaging, pictures }: Measuring, sha256: string): Promise<readonly number[] | null> {
  const key = digest(['map-mean', 1, sha256]);
  const known = await pictures.get(key);
  if (known) return JSON.parse(new TextDecoder().decode(known.bytes)) as readonly number[];
  return once(key, async () => {
    const facts = await imaging.measureMap(await files.read(sha256));
    if (!facts) return null;
    const { linearMean } = facts.content;
    await pictures.put(key, new TextEncoder().encode(JSON.stringify(linearMean)), 'application/json');
    return linearMean;
  });
}
