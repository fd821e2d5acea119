import { expect, it } from 'vitest';
import { readGround, toGroundLevels } from '../../../../server/core/picture/picture.ts';

it('accepts words, and colours with or without their hash', () => {
  expect(readGround('white')).toBe('white');
  expect(readGround('#F0EDE6')).toBe('#f0ede6');
  expect(readGround('f0ede6')).toBe('#f0ede6');
  expect(() => readGround('cream')).toThrow(/rrggbb/);
});

it('gives their sRGB levels', () => {
  expect(toGroundLevels('transparent')).toBeNull();
  expect(toGroundLevels('white')).toEqual([255, 255, 255]);
  expect(toGroundLevels('#f0ede6')).toEqual([240, 237, 230]);
});
