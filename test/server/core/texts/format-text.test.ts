import { describe, expect, it } from 'vitest';
import { count, formatBytes, formatMm, formatNumber, listNames } from '../../../../server/core/texts/format-text.ts';

describe('figures in messages', () => {
  it.each([
    [0, '0'],
    [999, '999'],
    [1000, '1,000'],
    [1234567, '1,234,567'],
  ])('%d is %s', (n, text) => {
    expect(formatNumber(n)).toBe(text);
  });

  it('count one and several', () => {
    expect(count(1, 'mesh', 'meshes')).toBe('1 mesh');
    expect(count(0, 'part')).toBe('0 parts');
  });

  it('give bytes and millimetres as people quote them', () => {
    expect(formatBytes(999)).toBe('1.0 kB');
    expect(formatBytes(3_000_000)).toBe('3.0 MB');
    expect(formatMm(0.0034)).toBe('3.4 mm');
    expect(formatMm(-1.2)).toBe('-1,200 mm');
  });
});

describe('lists of names', () => {
  it.each([
    [[], 0, ''],
    [['a'], 1, '“a”'],
    [['a', 'b'], 2, '“a” and “b”'],
    [['a', 'b', 'c', 'd'], 4, '“a”, “b”, “c” and 1 more'],
    [['a', 'b', 'c', 'd'], 600, '“a”, “b”, “c” and 597 more'],
    [['a'], 1200, '“a” and 1,199 more'],
  ])('%j of %d', (names, all, text) => {
    expect(listNames(names, 3, all)).toBe(text);
  });
});
