import { describe, expect, it } from 'vitest';
import { findJpegFault, findKtx2Fault, findPngFault } from '../../../server/images/find-image-fault.ts';
import { readPixels } from '../../../server/images/image-codec.ts';
import { breakCrc, listChunks, makeWholeImages } from '../../support/damage-images.ts';
import { KTX2 } from '../../support/ktx2.ts';
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

// ITU T.81: table B.1 (markers), B.1.1.2 (they may be filled up to with FF), B.1.1.5 (a stuffed 00 after FF in coded data),
// B.2.3 (a sequential frame codes each component in one scan).

const jpegs = (await makeWholeImages()).filter(({ type }) => type === 'image/jpeg');
const SOS = Buffer.from([0xff, 0xda]);

describe.each(jpegs)('$name', ({ name, bytes }) => {
  it('is whole, also with filling before a marker and bytes after its end', () => {
    expect(findJpegFault(bytes)).toBeNull();
    const filled = Buffer.concat([
      bytes.subarray(0, 2),
      Buffer.from([0xff, 0xff]),
      bytes.subarray(2),
      Buffer.from('x'),
    ]);
    expect(findJpegFault(filled)).toBeNull();
  });

  it('is refused when it ends early, if only by its last marker', async () => {
    for (const length of [bytes.length - 2, bytes.length - 1, bytes.length - 100, 30]) {
      expect(findJpegFault(bytes.subarray(0, length))).toMatch(/too early/);
      await expectRefusal(() => readPixels(bytes.subarray(0, length)), 'image-unreadable');
    }
  });

  it('is refused with a marker in its coded data that is none of an image', async () => {
    const broken = Buffer.from(bytes);
    const at = broken.lastIndexOf(SOS) + 40;
    broken.writeUInt16BE(0xff6a, at);
    expect(findJpegFault(broken)).toMatch(/damaged/);
    await expectRefusal(() => readPixels(broken), 'image-unreadable');
  });

  it('codes each component once, unless it is progressive', () => {
    const scan = bytes.subarray(bytes.indexOf(SOS), bytes.length - 2);
    const twice = Buffer.concat([bytes.subarray(0, bytes.length - 2), scan, bytes.subarray(-2)]);
    if (name.includes('progressive')) expect(findJpegFault(twice)).toBeNull();
    else expect(findJpegFault(twice)).toMatch(/damaged/);
  });
});

// KTX 2.0 (Khronos): the header's words at 12 (vkFormat), 20 and 24 (size), 32 (layers), 36 (faces), 44 (supercompression),
// and the level index from 80, 24 bytes a level. Textures of the Basis Universal encoder.

/** A texture with some of its words changed. */
function change(texture: Uint8Array, words: Readonly<Record<number, number>>): Buffer {
  const copy = Buffer.from(texture);
  for (const [at, value] of Object.entries(words)) copy.writeUInt32LE(value, Number(at));
  return copy;
}

describe.each(Object.entries(KTX2))('%s', (_, texture) => {
  it('is decoded', async () => {
    expect(await findKtx2Fault(texture)).toBeNull();
  });

  it.each([
    ['another scheme of supercompression', { 44: 3 }],
    ['a level that lies beyond the file', { 80: 1_000_000 }],
    ['a level that is longer than the file', { 88: 1_000_000 }],
    ['no size', { 20: 0 }],
    ['more pixels than are taken', { 20: 70_000, 24: 70_000 }],
    ['six faces', { 36: 6 }],
    ['a format that is not Basis Universal', { 12: 37 }],
  ])('is refused with %s', async (_, words) => {
    expect(await findKtx2Fault(change(texture, words))).toMatch(/\w/);
    // and what comes after it is none the worse
    expect(await findKtx2Fault(texture)).toBeNull();
  });

  it('is refused when it is cut', async () => {
    for (const length of [13, 90, texture.length - 20]) {
      expect(await findKtx2Fault(texture.subarray(0, length))).toMatch(/\w/);
    }
  });
});
