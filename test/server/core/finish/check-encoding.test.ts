import { describe, expect, it } from 'vitest';
import { checkEncoding } from '../../../../server/core/finish/check-encoding.ts';
import type { ImageEncoding } from '../../../../server/core/finish/image-encoding.ts';

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

describe('what is said of the colours of an image', () => {
  it('is nothing for sRGB of 8 bits, with or without a profile, and where nothing is known', () => {
    const srgb = { ...plain, profile: { name: 'sRGB IEC61966-2.1', isSrgb: true } };
    for (const use of MAP_USES) {
      for (const encoding of [plain, srgb, null]) expect(check(encoding, use)).toEqual([]);
    }
  });

  it('is by use: a colour map was converted, data maps ignore the profile', () => {
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

  it('tells what was cut, from half a per cent on', () => {
    expect(check({ ...adobe, outside: 0.004 }, 'colour')[0]!.message).not.toContain('%');
    expect(check({ ...adobe, outside: 0.126 }, 'colour')[0]!.message).toContain('13 % of its texels');
  });

  it('is a warning where the profile cannot be applied, with or without a name', () => {
    for (const name of ['Dot gain', null]) {
      const [finding] = check({ ...plain, profile: { name, isSrgb: false } }, 'colour');
      expect(finding).toMatchObject({ code: 'map-profile', severity: 'warning' });
      expect(finding!.message).toContain('Convert the image to sRGB');
    }
  });

  it('tells of 16 bits only where glTF takes 8', () => {
    const deep: ImageEncoding = { ...plain, bitsPerChannel: 16 };
    expect(check(deep, 'colour')).toMatchObject([{ code: 'map-depth', severity: 'note' }]);
    expect(check(deep, 'normal')).toEqual([]);
  });
});
