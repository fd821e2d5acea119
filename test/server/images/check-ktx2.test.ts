import { describe, expect, it } from 'vitest';
import { findKtx2Fault } from '../../../server/images/check-ktx2.ts';
import { KTX2 } from '../../support/ktx2.ts';

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
