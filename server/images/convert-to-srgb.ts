import sharp from 'sharp';
import { xyzToLinear } from '../core/colour/lab.ts';
import { LINEAR_CODES, toCode } from '../core/colour/srgb.ts';
import type { ConvertedColour } from '../core/finish/map-image.ts';
import { type Codes, encodePng, type Pixels, READ_OPTIONS, readCodes, readPixels } from './image-codec.ts';
import { type Colorants, type IccProfile, readProfile, type ToneCurve } from './read-icc-profile.ts';

/**
 * Largest difference from sRGB, in codes of 255, for a profile that counts as sRGB. The shortest sRGB profiles in use
 * store their curve as a table of twenty points and are within it; a plain gamma of 2.2 differs by seven codes in the
 * dark.
 */
const SRGB_CODES = 2;

/** The white of the profile connection space (ICC.1:2022 §7.2.16). */
const PCS_WHITE = [0.9642, 1, 0.8249] as const;

/** Light outside 0–1 that still rounds to a valid 8-bit code: half a code at either end of the sRGB curve. */
const ROUNDING = { below: LINEAR_CODES[1]! / 2, above: (1 - LINEAR_CODES[254]!) / 2 };

/**
 * Converts an image to 8-bit sRGB by its embedded ICC profile, for use as a colour map. It takes seconds for the largest images,
 * so a service runs it in a worker.
 *
 * Profiles of a matrix with curves, and grey ones with a curve, are converted here in floating point (ICC.1:2022 annex F,
 * media-relative colorimetric). So 16-bit images are not rounded to 8 bits first, and texels outside sRGB are counted. The
 * image library converts by profiles with tables, with perceptual intent. A profile counts as sRGB if it gives the same
 * colours. Gamma and primaries that a PNG states without a profile (`gAMA`, `cHRM`) are ignored, since they are mostly wrong.
 * @returns null for an image without a profile
 * @throws as `readPixels`
 */
export async function convertToSrgb(image: Uint8Array): Promise<ConvertedColour | null> {
  const { icc, space } = await sharp(image, READ_OPTIONS).metadata();
  if (!icc) return null;
  const { name, colour } = readProfile(icc);
  const isGrey = space === 'b-w' || space === 'grey16';
  if (colour.kind === 'other') return convertByTables(image, name);
  const toLight = colour.kind === 'matrix' ? lightOfMatrix(colour) : lightOfGrey(colour.curve);
  // also for a grey image with a grey sRGB profile: its codes are the grey axis of sRGB
  if (isSrgb(toLight)) return { profile: { name, isSrgb: true }, png: null, outside: null };
  // a grey profile does not fit a colour image, nor a colour profile a grey one (PNG, third edition, §11.3.2.3)
  if ((colour.kind === 'grey') !== isGrey) return unusable(name);
  const { pixels, outside } = convert(await readCodes(image), toLight);
  return { profile: { name, isSrgb: false }, png: await encodePng(pixels), outside };
}

const unusable = (name: string | null): ConvertedColour => ({
  profile: { name, isSrgb: false },
  png: null,
  outside: null,
});

/** The conversion to linear sRGB, not clipped to 0–1: a curve for each channel, then a matrix by rows. */
interface ToLight {
  readonly curves: readonly ToneCurve[];
  readonly rows: readonly (readonly number[])[];
}

function lightOfMatrix({ curves, toXyz }: { curves: readonly ToneCurve[]; toXyz: Colorants }): ToLight {
  const columns = toXyz.map(fromPcs);
  return { curves, rows: [0, 1, 2].map((row) => columns.map((column) => column[row]!)) };
}

/** Grey: each channel is the light of the curve. */
function lightOfGrey(curve: ToneCurve): ToLight {
  const identity = [0, 1, 2].map((row) => [0, 1, 2].map((column) => (row === column ? 1 : 0)));
  return { curves: [curve, curve, curve], rows: identity };
}

const toLinear = ([x, y, z]: readonly number[]) => xyzToLinear([x! * 100, y! * 100, z! * 100], 'D50');
const WHITE = toLinear(PCS_WHITE);

/** The white of profiles is D50 rounded to four digits; it must become exactly white. */
function fromPcs(xyz: readonly number[]): number[] {
  return toLinear(xyz).map((light, i) => light / WHITE[i]!);
}

/** Compares every seventeenth code of each channel: 4096 colours. */
function isSrgb({ curves, rows }: ToLight): boolean {
  const steps = Array.from({ length: 16 }, (_, i) => i * 17);
  const light = curves.map((curve) => steps.map((code) => curve(code / 255)));
  return steps.every((red, r) =>
    steps.every((green, g) =>
      steps.every((blue, b) =>
        [red, green, blue].every((code, i) => {
          const row = rows[i]!;
          const value = row[0]! * light[0]![r]! + row[1]! * light[1]![g]! + row[2]! * light[2]![b]!;
          return Math.abs(toCode(value) - code) <= SRGB_CODES;
        }),
      ),
    ),
  );
}

function convert(codes: Codes, { curves, rows }: ToLight): { readonly pixels: Pixels; readonly outside: number } {
  const { data, widthPx, heightPx, channels, highest } = codes;
  const [red, green, blue] = curves.map((curve) =>
    Float64Array.from({ length: highest + 1 }, (_, code) => curve(code / highest)),
  ) as [Float64Array, Float64Array, Float64Array];
  const out = Buffer.alloc(data.length);
  let outside = 0;
  for (let i = 0; i < data.length; i += channels) {
    const r = red[data[i]!]!;
    const g = green[data[i + 1]!]!;
    const b = blue[data[i + 2]!]!;
    let cut = false;
    for (let c = 0; c < 3; c++) {
      const row = rows[c]!;
      const light = row[0]! * r + row[1]! * g + row[2]! * b;
      if (light < -ROUNDING.below || light > 1 + ROUNDING.above) cut = true;
      out[i + c] = toCode(light);
    }
    if (cut) outside++;
    if (channels === 4) out[i + 3] = Math.round((data[i + 3]! * 255) / highest);
  }
  return { pixels: { data: out, widthPx, heightPx, channels }, outside: outside / (widthPx * heightPx) };
}

/** Converts with the image library. If the tables hardly change the image, it counts as sRGB. */
async function convertByTables(image: Uint8Array, name: IccProfile['name']): Promise<ConvertedColour> {
  const before = await readPixels(image);
  // without the named profile, 16-bit images would be in the library's wider working space
  const reader = sharp(image, { ...READ_OPTIONS, ignoreIcc: false }).withIccProfile('srgb');
  const { data, info } = await reader.raw().toBuffer({ resolveWithObject: true });
  if (info.channels !== before.channels || data.length !== before.data.length) return unusable(name);
  let most = 0;
  for (let i = 0; i < data.length; i++) most = Math.max(most, Math.abs(data[i]! - before.data[i]!));
  // the library ignores a profile that it cannot read
  if (most === 0) return unusable(name);
  if (most <= SRGB_CODES) return { profile: { name, isSrgb: true }, png: null, outside: null };
  return { profile: { name, isSrgb: false }, png: await encodePng({ ...before, data }), outside: null };
}
