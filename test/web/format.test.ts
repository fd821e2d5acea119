import { describe, expect, it } from 'vitest';
import { count, formatNumber } from '../../server/core/texts/format-text.ts';
import {
  formatBytes,
  formatLab,
  formatLength,
  formatSignedLength,
  formatSignificant,
  formatSize,
  formatToWhole,
} from '../../web/format.ts';
import { commonTexts } from '../../web/texts/common.ts';

describe('numbers on the pages', () => {
  it('shows sizes as in data sheets, in mm or inches', () => {
    const size = { widthMm: 281.6, depthMm: 368, heightMm: 1016 };
    expect(formatSize(size)).toBe('282 × 368 × 1,016 mm');
    expect(formatSize(size, 'inch')).toBe('11.1 × 14.5 × 40.0 in');
    expect(formatLength(4.26)).toBe('4.3');
  });

  it('shows coordinates with a real minus sign, and none before a zero', () => {
    expect(formatSignedLength(-1234, 'mm')).toBe('−1,234');
    expect(formatSignedLength(1234, 'mm')).toBe('1,234');
    expect(formatSignedLength(-0.004, 'mm')).toBe('0');
    expect(formatSignedLength(-0.06, 'mm')).toBe('−0.1');
    expect(formatSignedLength(-1, 'inch')).toBe('0.0');
    expect(formatSignedLength(-31_343.6, 'inch')).toBe('−1234.0');
  });

  it('shows bytes in steps of a thousand', () => {
    expect(formatBytes(999)).toBe('999 bytes');
    expect(formatBytes(3_082_480)).toBe('3.1 MB');
    expect(formatBytes(999_700)).toBe('1.0 MB');
    expect(formatBytes(151_000_000)).toBe('151 MB');
  });

  it('counts with the right noun, and with commas between thousands', () => {
    expect(count(1, 'variant')).toBe('1 variant');
    expect(count(2, 'finish', 'finishes')).toBe('2 finishes');
    expect(formatNumber(1234567n)).toBe('1,234,567');
    expect(formatNumber(900)).toBe('900');
  });

  it('rounds to significant digits, but keeps whole numbers', () => {
    expect(formatSignificant(0.304812, 5)).toBe('0.30481');
    expect(formatSignificant(1016, 3)).toBe('1,016');
    expect(formatSignificant(1999.9, 3)).toBe('2,000');
    expect(formatToWhole(0.304812)).toBe('0.305');
    expect(formatToWhole(1234.5)).toBe('1,235');
  });

  it('shows Lab with a real minus sign, and none before a zero', () => {
    expect(formatLab([92.54, -0.04, -15.4])).toBe('92.5 0.0 −15.4');
  });

  it('shows the verdict in words, or that there is no model', () => {
    expect(commonTexts.verdict('blocked')).toBe('Blocked');
    expect(commonTexts.verdict('attention', false)).toBe('No model yet');
  });
});
