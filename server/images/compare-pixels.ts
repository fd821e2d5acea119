import sharp from 'sharp';
import { deltaE2000, type Lab, linearToLab } from '../core/colour/lab.ts';
import { LINEAR_CODES } from '../core/colour/srgb.ts';
import type { TextureLoss } from '../core/delivery/compressed-form.ts';
import type { Pixels } from './image-codec.ts';

/** Texels on each side of the grid over which colours and normals are compared. */
const GRID = 96;

/** The difference of a texture from the one before, as viewers show both: a smaller one is enlarged bilinearly. */
export async function comparePixels(
  before: Pixels,
  after: Pixels,
  use: TextureLoss['use'],
): Promise<Pick<TextureLoss, 'psnrDb' | 'deltaE' | 'normalDegrees'>> {
  const other = await fitTo(after, before);
  return {
    psnrDb: findPsnr(before, other),
    deltaE: use === 'colour' ? compareColours(before, other) : null,
    normalDegrees: use === 'normal' ? compareNormals(before, other) : null,
  };
}

async function fitTo(pixels: Pixels, { widthPx, heightPx }: Pixels): Promise<Pixels> {
  if (pixels.widthPx === widthPx && pixels.heightPx === heightPx) return pixels;
  const data = await sharp(pixels.data, {
    raw: { width: pixels.widthPx, height: pixels.heightPx, channels: pixels.channels },
  })
    .resize(widthPx, heightPx, { fit: 'fill', kernel: 'linear' })
    .raw()
    .toBuffer();
  return { data, widthPx, heightPx, channels: pixels.channels };
}

function findPsnr(a: Pixels, b: Pixels): number | null {
  let squares = 0;
  const texels = a.widthPx * a.heightPx;
  for (let i = 0, j = 0, n = 0; n < texels; n++, i += a.channels, j += b.channels) {
    const [red, green, blue] = [
      a.data[i]! - b.data[j]!,
      a.data[i + 1]! - b.data[j + 1]!,
      a.data[i + 2]! - b.data[j + 2]!,
    ];
    squares += red * red + green * green + blue * blue;
  }
  return squares === 0 ? null : 10 * Math.log10((255 * 255 * texels * 3) / squares);
}

function* listPlaces({ widthPx, heightPx }: Pixels): Generator<number> {
  const [columns, rows] = [Math.min(GRID, widthPx), Math.min(GRID, heightPx)];
  for (let y = 0; y < rows; y++) {
    const row = Math.floor(((y + 0.5) * heightPx) / rows) * widthPx;
    for (let x = 0; x < columns; x++) yield row + Math.floor(((x + 0.5) * widthPx) / columns);
  }
}

function compareColours(a: Pixels, b: Pixels): TextureLoss['deltaE'] {
  const known = new Map<number, Lab>();
  const read = ({ data, channels }: Pixels, at: number): Lab => {
    const [red, green, blue] = [data[at * channels]!, data[at * channels + 1]!, data[at * channels + 2]!];
    const code = (red << 16) | (green << 8) | blue;
    const lab = known.get(code) ?? linearToLab([LINEAR_CODES[red]!, LINEAR_CODES[green]!, LINEAR_CODES[blue]!]);
    known.set(code, lab);
    return lab;
  };
  const found = [...listPlaces(a)].map((at) => deltaE2000(read(a, at), read(b, at))).sort((x, y) => x - y);
  return { mean: found.reduce((sum, one) => sum + one, 0) / found.length, percentile95: atShare(found, 0.95) };
}

/** The largest angle of 95 % of the normals, degrees. */
function compareNormals(a: Pixels, b: Pixels): number {
  const read = ({ data, channels }: Pixels, at: number) => {
    const [x, y, z] = [0, 1, 2].map((c) => data[at * channels + c]! / 127.5 - 1) as [number, number, number];
    const length = Math.hypot(x, y, z) || 1;
    return [x / length, y / length, z / length] as const;
  };
  const found = [...listPlaces(a)]
    .map((at) => {
      const [p, q] = [read(a, at), read(b, at)];
      return (Math.acos(Math.min(1, p[0] * q[0] + p[1] * q[1] + p[2] * q[2])) * 180) / Math.PI;
    })
    .sort((x, y) => x - y);
  return atShare(found, 0.95);
}

function atShare(sorted: readonly number[], share: number): number {
  return sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? 0;
}
