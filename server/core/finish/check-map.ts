import { type Finding, makeFinding } from '../product/finding.ts';
import type { FiguresOf, FindingText } from '../texts/finding-texts.ts';
import { PLACES } from '../texts/format-text.ts';
import type { Article, Tile } from './finish.ts';
import type { ImageEncoding, MapFacts, MapUse, Seam } from './map-image.ts';

/** Longest side, px, of a map that viewers on phones load without reducing it: common practice. */
const MAP_SIZE_PX = 2048;

/**
 * A seam is visible if the step across the edges exceeds the steps inside by this factor and is itself large enough:
 * five codes of 255, above JPEG's noise on a plain ground. Judgement, tested on noise, weaves and gradients.
 */
const SEAM = { ratio: 2.5, step: 5 / 255 } as const;

/**
 * Limits of a normal map: nine texels in ten have about unit length, nearly all point out of the surface (glTF 2.0
 * §3.9.3 requires blue above one half), and the mean points straight up, (0.5, 0.5, 1) in codes. Judgement: the same as
 * for maps of models.
 */
const NORMAL = { unit: 0.9, outward: 0.98, sideways: 0.12, up: 0.75 } as const;

/** An uploaded image and its measurements; null for an image that is not measured, such as KTX2. */
export interface MapUnderCheck {
  readonly sha256: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly facts: MapFacts | null;
}

/** Checks an image as a map for any use: size, sides, repeat. Never throws. */
export function checkMap(map: MapUnderCheck): Finding[] {
  const where = `file ${map.sha256.slice(0, 12)}`;
  return [...checkSides(map, where), ...checkRepeat(map, where), ...checkConstant(map, where)];
}

type WrongContent = Extract<FindingText, `map-wrong-content:${string}`>;

/** Checks an image for one use in a finish, in addition to `checkMap`. Never throws. */
export function checkMapUse({ facts }: MapUnderCheck, use: MapUse): Finding[] {
  if (!facts) return [];
  const { codes: _, ...seen } = facts.content;
  const wrong = <T extends WrongContent>(
    text: T,
    figures: FiguresOf<T>,
    expected: string,
    severity?: 'note',
  ): Finding[] => [
    makeFinding(text, figures, { where: `maps.${use}`, place: PLACES.map(use), seen, expected }, severity),
  ];
  const { grey, constant, alphaVaries, channels } = facts.content;
  const normal = looksNormal(facts);
  if (use === 'normal') {
    if (normal) return [];
    const text = grey && !constant ? 'map-wrong-content:grey-normal' : 'map-wrong-content:not-normal';
    return wrong(text, {}, 'a tangent-space normal map: unit length, about (0.5, 0.5, 1) in the mean');
  }
  if (normal) {
    return wrong(
      'map-wrong-content:is-normal',
      { use },
      use === 'colour' ? 'colours, 8-bit sRGB' : 'roughness in the green channel, linear',
    );
  }
  if (use === 'roughness' && channels[1]!.max === 0) {
    return wrong('map-wrong-content:no-roughness', {}, 'roughness in the green channel, linear');
  }
  if (use === 'colour' && alphaVaries) {
    return wrong('map-wrong-content:transparent', {}, 'no alpha', 'note');
  }
  return [];
}

/** Whether the content of an image is a tangent-space normal map. */
export function looksNormal({ content: { normal, channels } }: MapFacts): boolean {
  const [red, green, blue] = channels;
  return (
    normal.unit >= NORMAL.unit &&
    normal.outward >= NORMAL.outward &&
    Math.abs(red!.mean - 0.5) <= NORMAL.sideways &&
    Math.abs(green!.mean - 0.5) <= NORMAL.sideways &&
    blue!.mean >= NORMAL.up
  );
}

/** Ratio of the step across the edge to the steps inside; 1 if both are zero. */
function seamRatio({ step, inner }: Seam): number {
  return step === inner ? 1 : step / inner;
}

function checkSides({ widthPx, heightPx, facts }: MapUnderCheck, where: string): Finding[] {
  const seen = { widthPx, heightPx };
  const findings: Finding[] = [];
  if (Math.max(widthPx, heightPx) > MAP_SIZE_PX) {
    findings.push(
      makeFinding(
        'texture-too-large:finish-map',
        { widthPx, heightPx, limitPx: MAP_SIZE_PX },
        {
          where,
          seen,
          expected: MAP_SIZE_PX,
        },
        'note',
      ),
    );
  }
  if (!isPowerOfTwo(widthPx) || !isPowerOfTwo(heightPx)) {
    findings.push(
      makeFinding(
        'map-not-power-of-two',
        { widthPx, heightPx },
        {
          where,
          seen,
          expected: 'sides that are powers of two',
        },
      ),
    );
  }
  if (!facts) {
    findings.push(makeFinding('image-undecodable:not-measured', {}, { where }, 'note'));
  }
  return findings;
}

/**
 * A step no larger than the strongest straight edge inside may be a tile joint at the edge of the image. It is then a
 * note.
 */
function checkRepeat({ facts }: MapUnderCheck, where: string): Finding[] {
  if (!facts) return [];
  const edges = [
    ['left and right', facts.seams.leftRight],
    ['top and bottom', facts.seams.topBottom],
  ] as const;
  return edges.flatMap(([edge, seam]) => {
    if (!seam || seam.step <= SEAM.step || seamRatio(seam) <= SEAM.ratio) return [];
    const sure = seam.step > seam.strongest;
    return [
      makeFinding(
        'map-not-tileable',
        {
          edge,
          codes: seam.step * 255,
          // JSON has no number for an infinite ratio.
          ratio: seam.inner > 0 ? seamRatio(seam) : null,
          isSure: sure,
        },
        {
          where,
          place: edge,
          seen: seam,
          expected: { ratio: `${SEAM.ratio} or less` },
        },
        sure ? undefined : 'note',
      ),
    ];
  });
}

function checkConstant({ facts }: MapUnderCheck, where: string): Finding[] {
  if (!facts?.content.constant) return [];
  return [
    makeFinding(
      'constant-map:finish-map',
      {},
      {
        where,
        seen: facts.content.channels.map(({ mean }) => mean),
        expected: 'a map that varies',
      },
    ),
  ];
}

function isPowerOfTwo(px: number): boolean {
  return px > 0 && (px & (px - 1)) === 0;
}

/** A smaller share of texels outside sRGB is noise and is not reported. */
const OUTSIDE_LISTED = 0.005;

/**
 * Checks the profile and depth of an image as one map of a finish. Never throws.
 * @param encoding null if unknown, because the image is older than this check
 */
export function checkEncoding({ encoding }: { readonly encoding: ImageEncoding | null }, use: MapUse): Finding[] {
  if (!encoding) return [];
  const place = { where: `maps.${use}`, place: PLACES.map(use) };
  const { profile, bitsPerChannel } = encoding;
  const findings: Finding[] = [];
  if (profile && !profile.isSrgb) {
    const seen = profile.name;
    if (use !== 'colour') {
      findings.push(makeFinding('map-profile:ignored', { profile: profile.name, use }, { ...place, seen }));
    } else if (encoding.asColour) {
      const outside = encoding.outside !== null && encoding.outside >= OUTSIDE_LISTED ? encoding.outside : null;
      findings.push(makeFinding('map-profile', { profile: profile.name, outside }, { ...place, seen }));
    } else {
      findings.push(
        makeFinding(
          'map-profile:unusable',
          { profile: profile.name },
          { ...place, seen, expected: 'sRGB, or a profile that fits the image' },
          'warning',
        ),
      );
    }
  }
  if (use === 'colour' && bitsPerChannel === 16) {
    findings.push(
      makeFinding(
        'map-depth',
        {},
        {
          ...place,
          seen: 16,
          expected: 8,
        },
      ),
    );
  }
  return findings;
}

/**
 * Smallest width of a thread, in pixels. A weave shows through a thread and the gap beside it. Below two pixels for
 * each, it causes moiré with the pixel grid (the sampling theorem gives one per half period; a second leaves room for
 * the filter).
 */
const THREAD_PX = 2;

/** A weave at true size, and its scale in a picture. */
export interface WeaveInPicture {
  /** The finish or article, for the message. */
  readonly finish: string;
  /** Its slot or part. */
  readonly where: string;
  /** Width of one repeat of the maps, mm. */
  readonly tileWidthMm: number;
  /** Threads across that repeat. */
  readonly threadsPerTile: number;
  /**
   * Pixels per millimetre of the part in the picture, seen head-on. Surfaces that turn away from the camera have fewer.
   */
  readonly pxPerMm: number;
}

/** Threads across one repeat of a cloth with a given number per centimetre. */
export function countThreads(tileWidthMm: number, threadsPerCm: number): number {
  return (tileWidthMm / 10) * threadsPerCm;
}

/**
 * The finding `moire` if a thread is under two pixels, with the scale that would show it. Null if not, or if a figure
 * is not a positive number.
 */
export function checkMoire({ finish, where, tileWidthMm, threadsPerTile, pxPerMm }: WeaveInPicture): Finding | null {
  if (![tileWidthMm, threadsPerTile, pxPerMm].every((value) => Number.isFinite(value) && value > 0)) return null;
  const threadMm = tileWidthMm / threadsPerTile;
  const threadPx = threadMm * pxPerMm;
  if (threadPx >= THREAD_PX) return null;
  const needed = THREAD_PX / threadMm;
  return makeFinding(
    'moire',
    { finish, threadMm, threadPx, leastPx: THREAD_PX, times: needed / pxPerMm },
    {
      where,
      place: finish,
      seen: { threadPx, pxPerMm },
      expected: { threadPx: `${THREAD_PX} or more`, pxPerMm: needed },
    },
  );
}

/** A finish on a part, in a picture of known scale. */
interface FinishInPicture {
  readonly finish: string;
  readonly article: Pick<Article, 'threadsPerCm'> | null | undefined;
  /** Null for a finish without maps, which shows no threads. */
  readonly tile: Tile | null;
  /** Its slot or piece. */
  readonly where: string;
  /** Null if the scale is unknown. */
  readonly pxPerMm: number | null;
}

/**
 * The finding `moire` if a cloth's threads are too fine for the picture, as a list. Empty if there is not enough data.
 */
export function checkWeave({ finish, article, tile, where, pxPerMm }: FinishInPicture): Finding[] {
  if (!tile || pxPerMm === null || !article?.threadsPerCm) return [];
  const threadsPerTile = countThreads(tile.widthMm, article.threadsPerCm);
  const finding = checkMoire({ finish, where, tileWidthMm: tile.widthMm, threadsPerTile, pxPerMm });
  return finding ? [finding] : [];
}
