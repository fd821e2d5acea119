import { describe, expect, it } from 'vitest';
import { findPngFault } from '../../../server/images/find-file-fault.ts';
import { readPixels } from '../../../server/images/read-pixels.ts';
import { breakCrc, listChunks, makeWholeImages } from '../../support/damage-images.ts';
import { expectRefusal } from '../../support/refusal.ts';
import { writePng } from '../../support/write-png.ts';

// PNG, third edition: §5.3 (a chunk is length, type, data and CRC), §5.4 (upper-case first letter: critical), §13.2 (errors
// in critical chunks are fatal, those in ancillary ones need not be). libpng and Chromium 156 do the same, tried by hand.

const png = Buffer.from(
  writePng({ type: 'rgb', bits: 8, widthPx: 2, codes: [90, 197, 58, 1, 2, 3], chunks: { gAMA: [0, 0, 0xb1, 0x8f] } }),
);

describe('a PNG', () => {
  it('is whole', async () => {
    for (const { type, bytes } of await makeWholeImages()) {
      if (type === 'image/png') expect(findPngFault(bytes, 'all')).toBeNull();
    }
    expect(findPngFault(png, 'all')).toBeNull();
    expect(findPngFault(Buffer.concat([png, Buffer.from('more')]), 'all')).toBeNull();
  });

  it.each(['IHDR', 'IDAT', 'IEND'])('with a wrong CRC of %s is refused', async (type) => {
    const broken = breakCrc(png, type);
    expect(findPngFault(broken, 'critical')).toContain(type);
    await expectRefusal(() => readPixels(broken), 'image-unreadable');
  });

  it('with a wrong CRC of an ancillary chunk is read as viewers do, and refused where it can be exported again', async () => {
    const broken = breakCrc(png, 'gAMA');
    expect(findPngFault(broken, 'critical')).toBeNull();
    expect(findPngFault(broken, 'all')).toContain('gAMA');
    expect([...(await readPixels(broken)).data]).toEqual([90, 197, 58, 1, 2, 3]);
    await expectRefusal(() => readPixels(broken, undefined, 'strict'), 'image-unreadable');
  });

  it('is refused where it ends without its last chunk, within one, or has bytes between them', () => {
    const end = listChunks(png).at(-1)!.at;
    expect(findPngFault(png.subarray(0, end), 'critical')).toMatch(/last chunk/);
    expect(findPngFault(png.subarray(0, end - 3), 'critical')).toMatch(/cut/);
    const between = Buffer.concat([png.subarray(0, end), Buffer.alloc(16), png.subarray(end)]);
    expect(findPngFault(between, 'critical')).toMatch(/between/);
  });
});
