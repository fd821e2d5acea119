import { describe, expect, it } from 'vitest';
import { findJpegFault } from '../../../server/images/find-file-fault.ts';
import { readPixels } from '../../../server/images/read-pixels.ts';
import { makeWholeImages } from '../../support/damage-images.ts';
import { expectRefusal } from '../../support/refusal.ts';

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
