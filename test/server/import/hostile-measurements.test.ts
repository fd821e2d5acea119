import { describe, expect, it } from 'vitest';
import { Problem } from '../../../server/core/problems.ts';
import { readImport } from '../../../server/import/read-import.ts';
import { countWork, listGrown } from '../../support/count-work.ts';
import { HOSTILE_MEASUREMENTS } from '../../support/hostile-measurements.ts';

/** Reads a file in this thread; a refusal is a good end, and any other error fails the test. */
function read(text: string): string {
  try {
    return readImport(new TextEncoder().encode(text), null, {}).format;
  } catch (error) {
    if (error instanceof Problem) return error.code;
    throw error;
  }
}

describe('a file of measurements made to do harm', () => {
  it.each(Object.entries(HOSTILE_MEASUREMENTS))('is read or refused, and nothing overflows: %s', (_, make) => {
    expect(read(make(200_000))).toMatch(/^(cgats|csv|cxf|import-unreadable)$/);
  });

  it('of 500,000 fields, or one word of ten million characters, names its limit', () => {
    expect(() =>
      readImport(new TextEncoder().encode(HOSTILE_MEASUREMENTS['fields on one line']!(500_000)), null, {}),
    ).toThrow(/Line 3: the file has more than 2000 fields/);
    const word = new TextEncoder().encode(HOSTILE_MEASUREMENTS['one long quoted word']!(1_000_000));
    expect(() => readImport(word, null, {})).toThrow(/Line 6: a word has 10000000 characters; 10000 are allowed/);
  });

  it.each(Object.entries(HOSTILE_MEASUREMENTS))('takes work that grows with the file: %s', async (_, make) => {
    const files = ['/server/', '/csv-parse/', '/fast-xml-parser/'];
    read(make(20));
    const small = await countWork(files, async () => read(make(1000)));
    const large = await countWork(files, async () => read(make(4000)));
    expect(listGrown(small, large, 6)).toEqual([]);
  });
});
