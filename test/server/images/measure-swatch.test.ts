import { expect, it } from 'vitest';
import type { RawPicture } from '../../../server/core/ports/renderer.ts';
import { measureSwatch } from '../../../server/images/measure-swatch.ts';

function paint(sizePx: number, at: (x: number, y: number) => readonly [number, number, number, number]): RawPicture {
  const rgba = new Uint8Array(sizePx * sizePx * 4);
  for (let i = 0; i < sizePx * sizePx; i++) rgba.set(at(i % sizePx, Math.floor(i / sizePx)), i * 4);
  return { widthPx: sizePx, heightPx: sizePx, rgba };
}

it('reads a flat colour as it is: white is L* 100, and the primaries are where CSS Color 4 has them', () => {
  const white = measureSwatch(
    paint(32, () => [255, 255, 255, 255]),
    'flat',
  )!;
  expect(white.hex).toBe('#ffffff');
  for (const [i, value] of [100, 0, 0].entries()) expect(white.lab[i]).toBeCloseTo(value, 2);
  const red = measureSwatch(
    paint(32, () => [255, 0, 0, 255]),
    'facing-centre',
  )!;
  // sRGB red under D65: L 53.24, a 80.09, b 67.20 (IEC 61966-2-1 primaries; the usual figures, from memory)
  for (const [i, value] of [53.24, 80.09, 67.2].entries()) expect(red.lab[i]).toBeCloseTo(value, 1);
});

it('averages a pattern in linear light', () => {
  // half black, half white is 50 % linear, which IEC 61966-2-1 encodes as 188
  const checker = paint(64, (x, y) => [...Array(3).fill((x + y) % 2 ? 255 : 0), 255] as never);
  expect(measureSwatch(checker, 'mean')!.hex).toBe('#bcbcbc');
});

it('reads what is see-through as it looks on white: half of black is the grey halfway in the encoded values', () => {
  const smoke = paint(16, () => [0, 0, 0, 127]);
  expect(measureSwatch(smoke, 'flat', true)!.hex).toBe('#808080');
  const clear = paint(16, () => [0, 0, 0, 0]);
  expect(measureSwatch(clear, 'flat', true)!.hex).toBe('#ffffff');
});

it('looks at the middle alone, and never at what is see-through', () => {
  const spot = paint(100, (x, y) =>
    Math.hypot(x - 49.5, y - 49.5) < 20 ? (x % 2 ? [0, 128, 0, 255] : [9, 9, 9, 0]) : [255, 0, 0, 255],
  );
  expect(measureSwatch(spot, 'facing-centre')!.hex).toBe('#008000');
  expect(
    measureSwatch(
      paint(16, () => [1, 2, 3, 0]),
      'flat',
    ),
  ).toBeNull();
});
