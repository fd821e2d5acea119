import { type Finding, makeFinding } from '../product/finding.ts';
import type { MapFacts, MapUse, Seam } from './map-facts.ts';

/** Longest side, px, up to which viewers on telephones take a map without thinning it out: common practice. */
export const MAP_SIZE_PX = 2048;

/**
 * A repeat shows where the step across the edges stands out by this factor from the steps inside, and is one that is seen
 * at all: five codes of 255, above what JPEG makes of a plain ground. Judgement, tried on noise, weaves and gradients.
 */
const SEAM = { ratio: 2.5, step: 5 / 255 } as const;

/**
 * A normal map: nine texels in ten of about unit length, nearly all pointing out of the surface (glTF 2.0 §3.9.3 asks that
 * blue be above one half), and straight up in the mean, (0.5, 0.5, 1) in codes. Judgement: the same as for maps of models.
 */
const NORMAL = { unit: 0.9, outward: 0.98, sideways: 0.12, up: 0.75 } as const;

/** An uploaded image, and what was measured of it; null for an image that is not measured, such as KTX2. */
export interface MapUnderCheck {
  readonly sha256: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly facts: MapFacts | null;
}

/** What is said of an image as a map, whatever it is used as: size, sides, repeat. Never throws. */
export function checkMap(map: MapUnderCheck): Finding[] {
  const where = `file ${map.sha256.slice(0, 12)}`;
  return [...checkSides(map, where), ...checkRepeat(map, where), ...checkConstant(map, where)];
}

/** What is said of an image used as one map of a finish, beside what `checkMap` says of it. Never throws. */
export function checkMapUse({ sha256, facts }: MapUnderCheck, use: MapUse): Finding[] {
  if (!facts) return [];
  const { codes: _, ...seen } = facts.content;
  const wrong = (message: string, expected: string, severity?: 'note'): Finding[] => [
    makeFinding(
      'map-wrong-content',
      { where: `maps.${use}`, place: `file ${sha256.slice(0, 12)}`, message, seen, expected },
      severity,
    ),
  ];
  const { grey, constant, alphaVaries, channels } = facts.content;
  const normal = looksNormal(facts);
  if (use === 'normal') {
    if (normal) return [];
    return wrong(
      grey && !constant
        ? 'The image is grey: a height map, or a roughness map. Have normals made of the height, as a tangent-space map with blue up, and upload that.'
        : 'The image is hardly a normal map: its texels are not of unit length, or do not point out of the surface. Export it as a tangent-space map with blue up.',
      'a tangent-space normal map: unit length, about (0.5, 0.5, 1) in the mean',
    );
  }
  if (normal) {
    return wrong(
      `The image looks like a normal map, and is used as ${use}. Use it as \`normal\`, and upload the ${use} map itself.`,
      use === 'colour' ? 'colours, 8-bit sRGB' : 'roughness in the green channel, linear',
    );
  }
  if (use === 'roughness' && channels[1]!.max === 0) {
    return wrong(
      'The green channel is 0 all over, and glTF reads roughness from it: the finish would be a mirror. Export roughness into green, or as a grey image.',
      'roughness in the green channel, linear',
    );
  }
  if (use === 'colour' && alphaVaries) {
    return wrong(
      'The image has transparent texels. A finish covers the part whatever its map says; what is behind them shows their hidden colour. Flatten the image.',
      'no alpha',
      'note',
    );
  }
  return [];
}

/** Whether an image is a tangent-space normal map, by what is in it. */
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

/** How many times the steps inside the step across the edges is; 1 where neither is any. */
export function seamRatio({ step, inner }: Seam): number {
  return step === inner ? 1 : step / inner;
}

function checkSides({ widthPx, heightPx, facts }: MapUnderCheck, where: string): Finding[] {
  const seen = { widthPx, heightPx };
  const findings: Finding[] = [];
  if (Math.max(widthPx, heightPx) > MAP_SIZE_PX) {
    findings.push(
      makeFinding(
        'texture-too-large',
        {
          where,
          message: `The image has ${widthPx} × ${heightPx} px; up to ${MAP_SIZE_PX} px a side are shown by every viewer. Make it smaller, or let it hold fewer repeats.`,
          seen,
          expected: MAP_SIZE_PX,
        },
        'note',
      ),
    );
  }
  if (!isPowerOfTwo(widthPx) || !isPowerOfTwo(heightPx)) {
    findings.push(
      makeFinding('map-not-power-of-two', {
        where,
        message: `The image has ${widthPx} × ${heightPx} px, and older viewers stretch repeating maps to powers of two. Export it with sides of 512, 1024 or 2048 px; the size of the repeat in mm stays what it is.`,
        seen,
        expected: 'sides that are powers of two',
      }),
    );
  }
  if (!facts) {
    findings.push(
      makeFinding(
        'image-undecodable',
        {
          where,
          message:
            'The image is not measured here, as KTX2 is not: neither its content nor its repeat was looked at. Check them on the PNG it was made from.',
        },
        'note',
      ),
    );
  }
  return findings;
}

/**
 * A step that is no larger than the strongest straight edge inside may be the joint of a tile that falls on the edge of the
 * image; that is said as a note.
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
    // a ratio without end is not a number in JSON
    const times = seam.inner > 0 ? `${seamRatio(seam).toFixed(1)} times` : 'out of all proportion to';
    return [
      makeFinding(
        'map-not-tileable',
        {
          where,
          place: edge,
          message:
            `The image ${sure ? 'does not tile' : 'may not tile'}: across its ${edge} edges the step is ${(seam.step * 255).toFixed(0)} codes, ` +
            `${times} what neighbours inside differ by. ` +
            (sure
              ? 'Every repeat would show as a line. Make it seamless, or crop it to one full repeat.'
              : 'There are as strong lines inside, so it may be a joint that falls on the edge. Look at two repeats side by side.'),
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
    makeFinding('constant-map', {
      where,
      message: 'The image says the same in every texel; a factor of the finish says it without a map.',
      seen: facts.content.channels.map(({ mean }) => mean),
      expected: 'a map that varies',
    }),
  ];
}

function isPowerOfTwo(px: number): boolean {
  return px > 0 && (px & (px - 1)) === 0;
}
