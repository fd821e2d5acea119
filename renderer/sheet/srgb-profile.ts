import { labToXyz, linearToLab, xyzToLinear } from '../../server/core/colour/lab.ts';
import { decodeSrgb, encodeSrgb } from '../../server/core/colour/srgb.ts';

type Triple = readonly [number, number, number];
type Tag = readonly [signature: string, element: Buffer];

/**
 * White of the profile connection space (ICC.1:2001-04 annex A.1), and the more precise white of the colour
 * conversions.
 */
const D50: Triple = [0.9642, 1, 0.8249];
const ROOM_D50 = labToXyz([100, 0, 0], 'D50', '2deg').map((value) => value / 100);
const TO_D50 = D50.map((value, i) => value / ROOM_D50[i]!);

/** Points of a curve: from codes to light, and back, where the slope at black needs more. */
const DECODING_POINTS = 1024;
const ENCODING_POINTS = 2048;
/** Points along each axis of the gamut, XYZ 0 to 2. */
const GAMUT_POINTS = 17;
/** Linear light this far outside 0–1 still counts as inside, because the grid rounds. */
const GAMUT_SLACK = 0.02;

/**
 * sRGB (IEC 61966-2-1) as an ICC profile of version 2.4 (ICC.1:2001-04), computed, so that no licence applies to it.
 * `display` is a matrix with curves, for drawings and pictures. `output` has tables: PDF/X (ISO 15930-7) requires an
 * output-device profile in its output intent, which for colour must have tables both ways and a gamut (ICC.1, §6.3.3).
 */
export function makeSrgbProfile(kind: 'display' | 'output'): Buffer {
  const named: Tag[] = [
    ['desc', makeDescription('sRGB IEC61966-2.1')],
    ['cprt', makeText('No copyright is claimed in this profile.')],
    ['wtpt', makeXyz(D50)],
  ];
  if (kind === 'display') {
    const curve = makeCurve();
    return makeProfile('mntr', [
      ...named,
      ...(['rXYZ', 'gXYZ', 'bXYZ'] as const).map((tag, i): Tag => [tag, makeXyz(COLORANTS[i]!)]),
      ...(['rTRC', 'gTRC', 'bTRC'] as const).map((tag): Tag => [tag, curve]),
    ]);
  }
  const [toXyz, fromXyz] = [makeToXyz(), makeFromXyz()];
  return makeProfile('prtr', [
    ...named,
    ...['A2B0', 'A2B1', 'A2B2'].map((tag): Tag => [tag, toXyz]),
    ...['B2A0', 'B2A1', 'B2A2'].map((tag): Tag => [tag, fromXyz]),
    ['gamt', makeGamut()],
  ]);
}

const UNITS: readonly Triple[] = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];
/** XYZ of full red, green and blue under D50. */
const COLORANTS = UNITS.map((unit) =>
  labToXyz(linearToLab(unit, 'D50'), 'D50', '2deg').map((value, i) => (value / 100) * TO_D50[i]!),
);

const IDENTITY = UNITS.flat();
/** XYZ under D50 to linear light, by rows. */
const FROM_XYZ = (() => {
  const columns = UNITS.map((unit, i) => xyzToLinear(unit.map((value) => (100 * value) / TO_D50[i]!) as never, 'D50'));
  return [0, 1, 2].map((row) => columns.map((column) => column[row]!));
})();

const listPoints = (count: number, map: (at: number) => number) =>
  Array.from({ length: count }, (_, i) => Math.round(65535 * map(i / (count - 1))));
const thrice = (table: readonly number[]) => [...table, ...table, ...table];

/** XYZ in sixteen bits: 1.0 is 32768 (`u1Fixed15Number`). */
const encodeXyz = (value: number) => Math.round(Math.max(0, value) * 32768);

/** Codes to light by the curves, then to XYZ by a table of the cube's corners with linear interpolation. */
function makeToXyz(): Buffer {
  const corners = listGrid(2, (rgb) =>
    [0, 1, 2].map((axis) => encodeXyz(rgb.reduce((sum, light, i) => sum + light * COLORANTS[i]![axis]!, 0))),
  );
  return makeLut(3, 2, IDENTITY, thrice(listPoints(DECODING_POINTS, decodeSrgb)), corners, thrice([0, 65535]));
}

/** XYZ to light by the matrix, clipped to 0–1 by a curve that reaches its maximum at the middle (1.0), then to codes. */
function makeFromXyz(): Buffer {
  const corners = listGrid(2, (rgb) => rgb.map((light) => light * 65535));
  return makeLut(
    3,
    2,
    FROM_XYZ.flat(),
    thrice([0, 65535, 65535]),
    corners,
    thrice(listPoints(ENCODING_POINTS, encodeSrgb)),
  );
}

/** 0 for colours inside sRGB, the maximum for those outside. */
function makeGamut(): Buffer {
  const inside = (light: number) => light >= -GAMUT_SLACK && light <= 1 + GAMUT_SLACK;
  const grid = listGrid(GAMUT_POINTS, (at) => {
    const xyz = at.map((value) => (value * 65535) / 32768);
    const light = FROM_XYZ.map((row) => row.reduce((sum, factor, i) => sum + factor * xyz[i]!, 0));
    return [light.every(inside) ? 0 : 65535];
  });
  return makeLut(1, GAMUT_POINTS, IDENTITY, thrice([0, 65535]), grid, [0, 65535]);
}

/** Values at all points of a grid over the cube 0–1, the first axis slowest. */
function listGrid(points: number, valuesAt: (at: Triple) => readonly number[]): number[] {
  const values: number[] = [];
  const axis = Array.from({ length: points }, (_, i) => i / (points - 1));
  for (const a of axis) for (const b of axis) for (const c of axis) values.push(...valuesAt([a, b, c]));
  return values;
}

/** `lut16Type` (ICC.1:2001-04 §6.5.8) with three input channels. */
function makeLut(
  channelsOut: number,
  gridPoints: number,
  matrix: readonly number[],
  input: readonly number[],
  grid: readonly number[],
  output: readonly number[],
): Buffer {
  const element = Buffer.alloc(52 + 2 * (input.length + grid.length + output.length));
  element.write('mft2');
  element.set([3, channelsOut, gridPoints], 8);
  matrix.forEach((value, i) => {
    element.writeInt32BE(s15(value), 12 + 4 * i);
  });
  element.writeUInt16BE(input.length / 3, 48);
  element.writeUInt16BE(output.length / channelsOut, 50);
  [...input, ...grid, ...output].forEach((value, i) => {
    element.writeUInt16BE(value, 52 + 2 * i);
  });
  return element;
}

/** `curveType` (§6.5.3) of sRGB. */
function makeCurve(): Buffer {
  const element = Buffer.alloc(12 + 2 * DECODING_POINTS);
  element.write('curv');
  element.writeUInt32BE(DECODING_POINTS, 8);
  listPoints(DECODING_POINTS, decodeSrgb).forEach((value, i) => {
    element.writeUInt16BE(value, 12 + 2 * i);
  });
  return element;
}

/** `XYZType` (§6.5.26). */
function makeXyz(xyz: readonly number[]): Buffer {
  const element = Buffer.alloc(20);
  element.write('XYZ ');
  xyz.forEach((value, i) => {
    element.writeInt32BE(s15(value), 8 + 4 * i);
  });
  return element;
}

/** `textDescriptionType` (§6.5.17): the ASCII part, then empty Unicode and script parts. */
function makeDescription(name: string): Buffer {
  const element = Buffer.alloc(12 + name.length + 1 + 78);
  element.write('desc');
  element.writeUInt32BE(name.length + 1, 8);
  element.write(name, 12, 'latin1');
  return element;
}

/** `textType` (§6.5.18). */
const makeText = (text: string) => Buffer.from(`text\0\0\0\0${text}\0`, 'latin1');

/** `s15Fixed16Number`. */
const s15 = (value: number) => Math.round(value * 65536);

/** Header (§6.1) and tags (§6.2); tags share equal elements. */
function makeProfile(deviceClass: 'mntr' | 'prtr', tags: readonly Tag[]): Buffer {
  const header = Buffer.alloc(128);
  header.writeUInt32BE(0x02400000, 8);
  header.write(`${deviceClass}RGB XYZ `, 12, 'latin1');
  [2026, 1, 1].forEach((part, i) => {
    header.writeUInt16BE(part, 24 + 2 * i);
  });
  header.write('acsp', 36, 'latin1');
  D50.forEach((value, i) => {
    header.writeInt32BE(s15(value), 68 + 4 * i);
  });
  const table = Buffer.alloc(4 + 12 * tags.length);
  table.writeUInt32BE(tags.length);
  const parts: Buffer[] = [];
  const starts = new Map<Buffer, number>();
  let end = header.length + table.length;
  tags.forEach(([signature, element], i) => {
    if (!starts.has(element)) {
      const padded = Buffer.concat([element, Buffer.alloc((4 - (element.length % 4)) % 4)]);
      starts.set(element, end);
      parts.push(padded);
      end += padded.length;
    }
    table.write(signature, 4 + 12 * i, 'latin1');
    table.writeUInt32BE(starts.get(element)!, 8 + 12 * i);
    table.writeUInt32BE(element.length, 12 + 12 * i);
  });
  header.writeUInt32BE(end);
  return Buffer.concat([header, table, ...parts]);
}
