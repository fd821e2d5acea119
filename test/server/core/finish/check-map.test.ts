import { describe, expect, it } from 'vitest';
import {
  checkEncoding,
  checkMap,
  checkMapUse,
  checkMoire,
  countThreads,
  looksNormal,
  type MapUnderCheck,
  type WeaveInPicture,
} from '../../../../server/core/finish/check-map.ts';
import type { ImageEncoding, MapFacts, MapUse, Seam } from '../../../../server/core/finish/map-image.ts';

const channel = (min: number, mean: number, max: number) => ({ min, mean, max });
const SMOOTH: Seam = { step: 0.03, inner: 0.03, strongest: 0.06 };

/** A coloured pattern that tiles. */
const COLOUR: MapFacts = {
  content: {
    linearMean: [0.2, 0.1, 0.05],
    // The findings do not depend on the codes.
    codes: [[], [], []],
    channels: [channel(0.1, 0.5, 0.9), channel(0.1, 0.4, 0.8), channel(0, 0.3, 0.7)],
    grey: false,
    alphaVaries: false,
    constant: false,
    normal: { unit: 0.2, outward: 0.1 },
  },
  seams: { leftRight: SMOOTH, topBottom: SMOOTH },
};
const content = (given: Partial<MapFacts['content']>): MapFacts => ({
  ...COLOUR,
  content: { ...COLOUR.content, ...given },
});
const NORMAL = content({
  channels: [channel(0.2, 0.5, 0.8), channel(0.2, 0.5, 0.8), channel(0.7, 0.97, 1)],
  normal: { unit: 0.99, outward: 1 },
});
const GREY = content({ grey: true });

const map = (given: Partial<MapUnderCheck> = {}): MapUnderCheck => ({
  sha256: 'a'.repeat(64),
  widthPx: 1024,
  heightPx: 512,
  facts: COLOUR,
  ...given,
});
const told = (given: Partial<MapUnderCheck>) => checkMap(map(given)).map(({ code, severity }) => `${code} ${severity}`);
const toldOf = (facts: MapFacts, use: MapUse) =>
  checkMapUse(map({ facts }), use).map(({ code, severity }) => `${code} ${severity}`);

describe('an uploaded map', () => {
  it('of a plain size that tiles has no findings', () => {
    expect(told({})).toEqual([]);
    expect(told({ widthPx: 2048, heightPx: 2048 })).toEqual([]);
    expect(toldOf(COLOUR, 'colour')).toEqual([]);
  });

  it('with large sides, or sides that are not powers of two, is a note', () => {
    expect(told({ widthPx: 4096 })).toEqual(['texture-too-large note']);
    expect(told({ heightPx: 1000 })).toEqual(['map-not-power-of-two note']);
    expect(told({ widthPx: 2049 })).toEqual(['texture-too-large note', 'map-not-power-of-two note']);
  });

  it('that was not decoded is judged by its size, and the finding says so', () => {
    expect(told({ facts: null, widthPx: 1000 })).toEqual(['map-not-power-of-two note', 'image-undecodable note']);
    expect(checkMapUse(map({ facts: null }), 'normal')).toEqual([]);
  });

  it('does not tile if the step across an edge exceeds the steps inside', () => {
    const seamed = (leftRight: Seam | null, topBottom: Seam | null = SMOOTH) =>
      checkMap(map({ facts: { ...COLOUR, seams: { leftRight, topBottom } } }));
    const [finding, ...more] = seamed({ step: 0.2, inner: 0.02, strongest: 0.05 });
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ code: 'map-not-tileable', severity: 'warning', place: 'left and right' });
    expect(finding!.message).toContain('10.0 times');
    expect(seamed(SMOOTH, { step: 0.2, inner: 0.02, strongest: 0.05 })[0]!.place).toBe('top and bottom');
    // Under 2.5 times, or under five codes, it is invisible.
    expect(seamed({ step: 0.05, inner: 0.0201, strongest: 0.02 })).toEqual([]);
    expect(seamed({ step: 0.019, inner: 0.001, strongest: 0.001 })).toEqual([]);
    expect(seamed(null, null)).toEqual([]);
  });

  it('may have a tile joint on its edge, which is a note', () => {
    const facts = { ...COLOUR, seams: { leftRight: { step: 0.2, inner: 0.02, strongest: 0.25 }, topBottom: null } };
    expect(told({ facts })).toEqual(['map-not-tileable note']);
  });

  it('has no infinite ratio in its message if it is even inside', () => {
    const facts = { ...COLOUR, seams: { leftRight: { step: 0.5, inner: 0, strongest: 0 }, topBottom: null } };
    expect(checkMap(map({ facts }))[0]!.message).not.toMatch(/Infinity|NaN/);
  });

  it('that is even could be a factor', () => {
    expect(told({ facts: content({ constant: true }) })).toEqual(['constant-map note']);
  });
});

describe('a map in its use', () => {
  // glTF 2.0 §3.9.3: tangent space, 0.5 is 0 and blue is above one half; §3.9.2: roughness is in green.
  it('is recognised as a normal map by unit length, blue up, and a mean straight up', () => {
    expect(looksNormal(NORMAL)).toBe(true);
    expect(looksNormal(COLOUR)).toBe(false);
    expect(looksNormal(content({ ...NORMAL.content, normal: { unit: 0.5, outward: 1 } }))).toBe(false);
    // A constant slope has unit length, but is no map of a surface.
    const slope = [channel(0.8, 0.85, 0.9), channel(0.4, 0.5, 0.6), channel(0.8, 0.85, 0.9)];
    expect(looksNormal(content({ ...NORMAL.content, channels: slope }))).toBe(false);
  });

  it('reports a normal map used as colour or roughness, and the reverse', () => {
    expect(toldOf(NORMAL, 'normal')).toEqual([]);
    expect(toldOf(NORMAL, 'colour')).toEqual(['map-wrong-content warning']);
    expect(toldOf(NORMAL, 'roughness')).toEqual(['map-wrong-content warning']);
    expect(toldOf(COLOUR, 'normal')).toEqual(['map-wrong-content warning']);
    expect(checkMapUse(map({ facts: GREY }), 'normal')[0]!.message).toContain('height map');
  });

  it('reports a green channel without roughness, and an invisible alpha', () => {
    expect(toldOf(GREY, 'roughness')).toEqual([]);
    const empty = content({ channels: [channel(0, 0.5, 1), channel(0, 0, 0), channel(0, 0, 0)] });
    expect(toldOf(empty, 'roughness')).toEqual(['map-wrong-content warning']);
    expect(toldOf(content({ alphaVaries: true }), 'colour')).toEqual(['map-wrong-content note']);
    expect(toldOf(content({ alphaVaries: true }), 'roughness')).toEqual([]);
  });
});

const MAP_USES = ['colour', 'normal', 'roughness'] as const;
const plain: ImageEncoding = { profile: null, bitsPerChannel: 8, asColour: null, outside: null };
const adobe: ImageEncoding = {
  ...plain,
  profile: { name: 'Adobe RGB (1998)', isSrgb: false },
  asColour: 'd'.repeat(64),
  outside: 0,
};
const check = (encoding: ImageEncoding | null, use: (typeof MAP_USES)[number]) =>
  checkEncoding({ encoding }, use).map(({ code, severity, message }) => ({ code, severity, message }));

describe('findings about the colours of an image', () => {
  it('are none for 8-bit sRGB, with or without a profile, and if the encoding is unknown', () => {
    const srgb = { ...plain, profile: { name: 'sRGB IEC61966-2.1', isSrgb: true } };
    for (const use of MAP_USES) {
      for (const encoding of [plain, srgb, null]) expect(check(encoding, use)).toEqual([]);
    }
  });

  it('depend on the use: a colour map was converted, data maps ignore the profile', () => {
    const [colour] = check(adobe, 'colour');
    expect(colour).toMatchObject({ code: 'map-profile', severity: 'note' });
    expect(colour!.message).toMatch(/^The image is in Adobe RGB \(1998\)\. As a colour map it was converted to sRGB/);
    expect(colour!.message).not.toContain('%');
    for (const use of ['normal', 'roughness'] as const) {
      const [data] = check(adobe, use);
      expect(data).toMatchObject({ code: 'map-profile', severity: 'note' });
      expect(data!.message).toContain('the profile is ignored');
    }
  });

  it('report clipped colours from half a per cent', () => {
    expect(check({ ...adobe, outside: 0.004 }, 'colour')[0]!.message).not.toContain('%');
    expect(check({ ...adobe, outside: 0.126 }, 'colour')[0]!.message).toContain('13 % of its texels');
  });

  it('are a warning if the profile cannot be applied, with or without a name', () => {
    for (const name of ['Dot gain', null]) {
      const [finding] = check({ ...plain, profile: { name, isSrgb: false } }, 'colour');
      expect(finding).toMatchObject({ code: 'map-profile', severity: 'warning' });
      expect(finding!.message).toContain('Convert the image to sRGB');
    }
  });

  it('report 16 bits only if glTF uses 8', () => {
    const deep: ImageEncoding = { ...plain, bitsPerChannel: 16 };
    expect(check(deep, 'colour')).toMatchObject([{ code: 'map-depth', severity: 'note' }]);
    expect(check(deep, 'normal')).toEqual([]);
  });
});

// The limit of 2 px per thread is a project decision. The rest is arithmetic, repeated here.

/** A plain weave of 20 threads per centimetre, 0.5 mm each, in a repeat of 100 mm. */
const weave = (given: Partial<WeaveInPicture> = {}): WeaveInPicture => ({
  finish: 'LINEN',
  where: 'slot seat',
  tileWidthMm: 100,
  threadsPerTile: countThreads(100, 20),
  pxPerMm: 1,
  ...given,
});

describe('moiré', () => {
  it('is judged by threads across the repeat', () => {
    expect(countThreads(100, 20)).toBe(200);
    expect(countThreads(25, 8)).toBe(20);
  });

  it('is found if a thread is under two pixels, with the scale that would be enough', () => {
    const finding = checkMoire(weave())!;
    expect(finding).toMatchObject({ code: 'moire', severity: 'warning', where: 'slot seat', place: 'LINEN' });
    expect(finding.seen).toEqual({ threadPx: 0.5, pxPerMm: 1 });
    expect(finding.expected).toMatchObject({ pxPerMm: 4 });
    expect(finding.message).toContain('4.0 times as large');
  });

  it('is not found from two pixels, and the proposed scale is enough', () => {
    expect(checkMoire(weave({ pxPerMm: 4 }))).toBeNull();
    expect(checkMoire(weave({ pxPerMm: 3.999 }))).not.toBeNull();
    expect(checkMoire(weave({ threadsPerTile: 50 }))).toBeNull();
    expect(checkMoire(weave({ threadsPerTile: 51 }))).not.toBeNull();
  });

  it('is not reported for meaningless figures', () => {
    for (const bad of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(checkMoire(weave({ tileWidthMm: bad }))).toBeNull();
      expect(checkMoire(weave({ threadsPerTile: bad }))).toBeNull();
      expect(checkMoire(weave({ pxPerMm: bad }))).toBeNull();
    }
  });
});
