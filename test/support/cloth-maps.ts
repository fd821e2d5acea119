import sharp from 'sharp';
import { createRandom } from './random.ts';

/** Texels along a side of the maps: a repeat of eight threads of eight texels. */
export const CLOTH_PX = 64;

/** Lightness of a twill at a texel, 0–1: threads that go over two and under two, with some grain. */
function makeTwill(): Float64Array {
  const { next } = createRandom(11);
  return Float64Array.from({ length: CLOTH_PX * CLOTH_PX }, (_, at) => {
    const [x, y] = [at % CLOTH_PX, Math.floor(at / CLOTH_PX)];
    const over = (Math.floor(x / 8) + Math.floor(y / 8)) % 4 < 2 ? 1 : 0.55;
    const round = Math.sin(((x % 8) + 0.5) * (Math.PI / 8)) * 0.3 + 0.7;
    return over * round * (0.9 + 0.1 * next());
  });
}

type Texel = readonly [red: number, green: number, blue: number, alpha?: number];

async function paint(texel: (light: number, x: number, y: number) => Texel): Promise<Uint8Array> {
  const lights = makeTwill();
  const channels = texel(1, 0, 0).length as 3 | 4;
  const data = Buffer.alloc(lights.length * channels);
  lights.forEach((light, at) => {
    texel(light, at % CLOTH_PX, Math.floor(at / CLOTH_PX)).forEach((value, c) => {
      data[at * channels + c] = Math.round(value!);
    });
  });
  return sharp(data, { raw: { width: CLOTH_PX, height: CLOTH_PX, channels } })
    .png()
    .toBuffer();
}

/**
 * Four colour maps of one twill, as suppliers send them: dyed, with holes in its alpha, scanned far too dark, in 16
 * bits.
 */
export async function makeClothMaps(): Promise<Readonly<Record<'dyed' | 'holed' | 'dark' | 'deep', Uint8Array>>> {
  const lights = makeTwill();
  const deep = Uint16Array.from({ length: lights.length * 3 }, (_, i) => {
    const light = lights[Math.floor(i / 3)]!;
    return Math.round((0.25 + 0.6 * light) * 65_535);
  });
  return {
    dyed: await paint((light) => [210 * light, 150 * light, 90 * light]),
    holed: await paint((light, x, y) => [230 * light, 228 * light, 222 * light, (x + y) % 16 < 3 ? 0 : 255]),
    dark: await paint((light) => [52 * light, 50 * light, 49 * light]),
    deep: await sharp(deep, { raw: { width: CLOTH_PX, height: CLOTH_PX, channels: 3, depth: 'ushort' } as never })
      .toColourspace('rgb16')
      .png()
      .toBuffer(),
  };
}
