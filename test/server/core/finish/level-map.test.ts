import { converter, differenceCiede2000, parse } from 'culori';
import { describe, expect, it } from 'vitest';
import {
  CONTRASTS,
  type CodeCounts,
  levelMap,
  makeLevelTables,
  meanOf,
} from '../../../../server/core/finish/level-map.ts';

// Colours and distances come from culori, an independent library; codes follow IEC 61966-2-1.
const toLinear = converter('lrgb');
const distance = differenceCiede2000();
const light = (code: number) => toLinear({ mode: 'rgb', r: code / 255, g: code / 255, b: code / 255 }).r!;
const linearOf = (hex: string) => {
  const { r, g, b } = toLinear(parse(hex));
  return [r, g, b] as [number, number, number];
};
const deltaE = (a: readonly number[], b: readonly number[]) =>
  distance({ mode: 'lrgb', r: a[0]!, g: a[1]!, b: a[2]! }, { mode: 'lrgb', r: b[0]!, g: b[1]!, b: b[2]! });

/** A map whose codes spread evenly about a middle, channel by channel. */
const makeMap = (...channels: readonly (readonly [middle: number, spread: number])[]): CodeCounts =>
  channels.map(([middle, spread]) =>
    Array.from({ length: 256 }, (_, code) => (Math.abs(code - middle) <= spread ? 100 : 0)),
  ) as unknown as CodeCounts;

/** The mean of factor × map, texel by texel, with the codes replaced as by a writer. */
function measure(counts: CodeCounts, contrast: number | null, factor: readonly number[]): number[] {
  const tables = contrast === null ? null : makeLevelTables(counts, contrast);
  return counts.map((count, c) => {
    let [sum, texels] = [0, 0];
    count.forEach((n, code) => {
      sum += n * light(tables ? tables[c]![code]! : code);
      texels += n;
    });
    return (factor[c]! * sum) / texels;
  });
}

const MAPS: Readonly<Record<string, CodeCounts>> = {
  grey: makeMap([170, 50], [170, 50], [170, 50]),
  dark: makeMap([30, 18], [28, 18], [26, 18]),
  blue: makeMap([40, 20], [70, 30], [150, 50]),
  pale: makeMap([225, 25], [222, 25], [215, 25]),
};
const COLOURS = ['#2f5d73', '#8a8d8f', '#1c2740', '#c8102e', '#e8e2d0', '#f4f4f0', '#101010', '#5b7553', '#d9a441'];

describe('a levelled colour map', () => {
  it.each(Object.entries(MAPS))('%s: has the specified colour as its mean, or reports the distance', (_, counts) => {
    for (const hex of COLOURS) {
      const target = linearOf(hex);
      const { contrast, factor, mean } = levelMap(target, counts);
      for (const channel of factor) {
        expect(channel).toBeGreaterThanOrEqual(0);
        expect(channel).toBeLessThanOrEqual(1);
      }
      const seen = measure(counts, contrast, factor);
      mean.forEach((value, c) => {
        expect(value, hex).toBeCloseTo(seen[c]!, 9);
      });
      if (contrast !== CONTRASTS.at(-1)) expect(deltaE(seen, target), hex).toBeLessThan(0.2);
    }
  });

  it('is delivered as uploaded if a factor of at most 1 is enough', () => {
    const { contrast, factor } = levelMap(linearOf('#2f5d73'), MAPS.grey!);
    expect(contrast).toBeNull();
    const mean = meanOf(MAPS.grey!);
    linearOf('#2f5d73').forEach((value, c) => {
      expect(factor[c]).toBeCloseTo(value / mean[c]!, 12);
    });
  });

  it('is re-encoded brighter with all of its contrast before it loses any', () => {
    // A dark scan and a middle grey: the map is too dark, and has room above.
    const { contrast } = levelMap(linearOf('#8a8d8f'), makeMap([45, 10], [45, 10], [45, 10]));
    expect(contrast).toBe(1);
    const tables = makeLevelTables(makeMap([45, 10], [45, 10], [45, 10]), 1);
    // The ratio of two texels in linear light stays: 50 and 40 have 1.45 to 1.
    expect(light(tables[0][50]!) / light(tables[0][40]!)).toBeCloseTo(light(50) / light(40), 1);
    expect(tables[0][55]).toBe(255);
  });

  it('loses less contrast for a darker colour', () => {
    const contrasts = ['#b0b0b0', '#d0d0d0', '#f0f0f0'].map((hex) => levelMap(linearOf(hex), MAPS.grey!).contrast ?? 1);
    expect(contrasts[0]).toBeGreaterThanOrEqual(contrasts[1]!);
    expect(contrasts[1]).toBeGreaterThan(contrasts[2]!);
  });

  it('is shared by the finishes of an article: few re-encodings serve all of its colours', () => {
    const needed = new Set(
      Array.from({ length: 120 }, (_, i) => {
        const code = (40 + i).toString(16);
        return levelMap(linearOf(`#${code}${code}${code}`), MAPS.dark!).contrast;
      }),
    );
    expect(needed.size).toBeLessThanOrEqual(CONTRASTS.length + 1);
  });

  it('reports a colour out of reach: white over a map of great contrast', () => {
    const black = Array.from({ length: 256 }, (_, code) => (code === 0 || code === 255 ? 10 : 0));
    const counts: CodeCounts = [black, black, black];
    const { contrast, factor, mean } = levelMap([1, 1, 1], counts);
    expect(contrast).toBe(CONTRASTS.at(-1));
    expect(factor).toEqual([1, 1, 1]);
    // s = 0 and 2 at a twentieth of the contrast are 0.95 and 1.05, over 1.05: the mean is 1 / 1.05.
    expect(mean[0]).toBeCloseTo(1 / 1.05, 2);
  });

  it('levels an empty channel flat, and an even map to an even colour', () => {
    const plain = (code: number) => Array.from({ length: 256 }, (_, i) => (i === code ? 64 : 0));
    const red: CodeCounts = [plain(200), plain(0), plain(0)];
    const target = linearOf('#8a8d8f');
    const { contrast, factor, mean } = levelMap(target, red);
    expect(deltaE(mean, target)).toBeLessThan(0.1);
    expect(deltaE(measure(red, contrast, factor), target)).toBeLessThan(0.1);
  });

  it('ignores glints: a few white texels do not darken the map, and are reported', () => {
    const [count] = makeMap([45, 10]);
    const glinting = count!.map((n, code) => (code === 255 ? 3 : n));
    const { contrast, clipped, mean } = levelMap(linearOf('#8a8d8f'), [glinting, glinting, glinting]);
    expect(contrast).toBe(1);
    expect(clipped).toBeGreaterThan(0);
    expect(clipped).toBeLessThan(0.003);
    expect(deltaE(mean, linearOf('#8a8d8f'))).toBeLessThan(0.1);
  });
});
