// ICC profiles and PNG files built by hand: formats of ICC.1:2001-04 (version 2.4), ICC.1:2022 and PNG, third edition

type Chromaticity = readonly [x: number, y: number];
type Matrix = readonly (readonly number[])[];

export interface RgbSpace {
  readonly name: string;
  readonly primaries: readonly [Chromaticity, Chromaticity, Chromaticity];
  readonly white: Chromaticity;
  readonly curve: Buffer;
}

const s15 = (value: number) => Math.round(value * 65536);

/** `curveType` of one gamma, as u8Fixed8. */
export function makeGamma(gamma: number): Buffer {
  const element = Buffer.alloc(14);
  element.write('curv');
  element.writeUInt32BE(1, 8);
  element.writeUInt16BE(Math.round(gamma * 256), 12);
  return element;
}

/** `curveType` of a table. */
export function makeTable(count: number, curve: (code: number) => number): Buffer {
  const element = Buffer.alloc(12 + 2 * count);
  element.write('curv');
  element.writeUInt32BE(count, 8);
  for (let i = 0; i < count; i++) element.writeUInt16BE(Math.round(curve(i / (count - 1)) * 65535), 12 + 2 * i);
  return element;
}

/** `parametricCurveType`. */
export function makeParametric(kind: number, ...parameters: readonly number[]): Buffer {
  const element = Buffer.alloc(12 + 4 * parameters.length);
  element.write('para');
  element.writeUInt16BE(kind, 8);
  parameters.forEach((value, i) => {
    element.writeInt32BE(s15(value), 12 + 4 * i);
  });
  return element;
}

/** IEC 61966-2-1, code to light. */
export const decodeSrgb = (v: number) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);

const D65: Chromaticity = [0.3127, 0.329];
/** Adobe RGB (1998) Color Image Encoding, version 2005-05: primaries, white, and the gamma 563/256. */
export const ADOBE_RGB: RgbSpace = {
  name: 'Adobe RGB (1998)',
  primaries: [
    [0.64, 0.33],
    [0.21, 0.71],
    [0.15, 0.06],
  ],
  white: D65,
  curve: makeGamma(563 / 256),
};
/** IEC 61966-2-1, with the curve as a table of 1024 points, as in version 2 profiles. */
export const SRGB: RgbSpace = {
  name: 'sRGB IEC61966-2.1',
  primaries: [
    [0.64, 0.33],
    [0.3, 0.6],
    [0.15, 0.06],
  ],
  white: D65,
  curve: makeTable(1024, decodeSrgb),
};
/** Display P3: primaries of SMPTE RP 431-2, white D65, curve of sRGB (CSS Color 4, display-p3), as a parametric curve. */
export const DISPLAY_P3: RgbSpace = {
  name: 'Display P3',
  primaries: [
    [0.68, 0.32],
    [0.265, 0.69],
    [0.15, 0.06],
  ],
  white: D65,
  curve: makeParametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045),
};
/** ProPhoto RGB (ISO 22028-2, ROMM RGB): white D50, gamma 1.8 with a straight piece below 16/512 (CSS Color 4, prophoto-rgb). */
export const PROPHOTO: RgbSpace = {
  name: 'ProPhoto RGB',
  primaries: [
    [0.7347, 0.2653],
    [0.1596, 0.8404],
    [0.0366, 0.0001],
  ],
  white: [0.3457, 0.3585],
  curve: makeParametric(3, 1.8, 1, 0, 1 / 16, 16 / 512),
};

/** A display profile of a matrix with curves (ICC.1:2001-04 §6.3.2). */
export function makeRgbProfile({ name, primaries, white, curve }: RgbSpace): Buffer {
  const columns = transpose(adaptToD50(toXyz(primaries, white), toWhite(white)));
  return makeProfile('RGB ', [
    ['desc', makeDescription(name)],
    ['wtpt', makeXyz(D50)],
    ...(['rXYZ', 'gXYZ', 'bXYZ'] as const).map((tag, i): Tag => [tag, makeXyz(columns[i]!)]),
    ...(['rTRC', 'gTRC', 'bTRC'] as const).map((tag): Tag => [tag, curve]),
  ]);
}

/** A monochrome display profile (ICC.1:2001-04 §6.3.1.1). */
export function makeGreyProfile(name: string, curve: Buffer): Buffer {
  return makeProfile('GRAY', [
    ['desc', makeDescription(name)],
    ['wtpt', makeXyz(D50)],
    ['kTRC', curve],
  ]);
}

/**
 * A profile with tables only (`lut16Type`, ICC.1:2001-04 §6.5.9): identity curves, and the eight corners of the cube in
 * XYZ, so that codes are linear light.
 */
export function makeTableProfile({ name, primaries, white }: RgbSpace): Buffer {
  const matrix = adaptToD50(toXyz(primaries, white), toWhite(white));
  const words: number[] = [2, 2];
  for (let c = 0; c < 3; c++) words.push(0, 65535);
  for (const r of [0, 1]) {
    for (const g of [0, 1]) {
      // u1Fixed15: 1.0 is 32768
      for (const b of [0, 1]) words.push(...multiply(matrix, [r, g, b]).map((v) => Math.round(v * 32768)));
    }
  }
  for (let c = 0; c < 3; c++) words.push(0, 65535);
  const element = Buffer.alloc(48 + 2 * words.length);
  element.write('mft2');
  element.set([3, 3, 2], 8);
  for (const at of [12, 28, 44]) element.writeInt32BE(s15(1), at);
  words.forEach((word, i) => {
    element.writeUInt16BE(word, 48 + 2 * i);
  });
  return makeProfile('RGB ', [
    ['desc', makeDescription(name)],
    ['wtpt', makeXyz(D50)],
    ['A2B0', element],
  ]);
}

type Tag = readonly [signature: string, element: Buffer];

export function makeProfile(space: string, tags: readonly Tag[]): Buffer {
  const header = Buffer.alloc(128);
  header.writeUInt32BE(0x02400000, 8);
  header.write(`mntr${space}XYZ `, 12, 'latin1');
  header.write('acsp', 36, 'latin1');
  D50.forEach((value, i) => {
    header.writeInt32BE(s15(value), 68 + 4 * i);
  });
  const table = Buffer.alloc(4 + 12 * tags.length);
  table.writeUInt32BE(tags.length);
  const elements: Buffer[] = [];
  let at = header.length + table.length;
  tags.forEach(([signature, element], i) => {
    table.write(signature, 4 + 12 * i, 'latin1');
    table.writeUInt32BE(at, 8 + 12 * i);
    table.writeUInt32BE(element.length, 12 + 12 * i);
    const padded = Buffer.concat([element, Buffer.alloc((4 - (element.length % 4)) % 4)]);
    elements.push(padded);
    at += padded.length;
  });
  header.writeUInt32BE(at);
  return Buffer.concat([header, table, ...elements]);
}

/** `textDescriptionType`: the ASCII part, and empty Unicode and script parts. */
function makeDescription(name: string): Buffer {
  const element = Buffer.alloc(12 + name.length + 1 + 78);
  element.write('desc');
  element.writeUInt32BE(name.length + 1, 8);
  element.write(name, 12, 'latin1');
  return element;
}

function makeXyz(xyz: readonly number[]): Buffer {
  const element = Buffer.alloc(20);
  element.write('XYZ ');
  xyz.forEach((value, i) => {
    element.writeInt32BE(s15(value), 8 + 4 * i);
  });
  return element;
}

/** White of the profile connection space. */
const D50 = [0.9642, 1, 0.8249];
/** Bradford's cone responses (ICC.1:2022 annex E). */
const BRADFORD: Matrix = [
  [0.8951, 0.2664, -0.1614],
  [-0.7502, 1.7135, 0.0367],
  [0.0389, -0.0685, 1.0296],
];

const toWhite = ([x, y]: Chromaticity) => [x / y, 1, (1 - x - y) / y];

function toXyz(primaries: readonly Chromaticity[], white: Chromaticity): Matrix {
  const columns = transpose(primaries.map(toWhite));
  const scale = multiply(invert(columns), toWhite(white));
  return columns.map((row) => row.map((value, i) => value * scale[i]!));
}

function adaptToD50(matrix: Matrix, white: readonly number[]): Matrix {
  const [from, to] = [multiply(BRADFORD, white), multiply(BRADFORD, D50)];
  const columns = transpose(matrix).map((column) => {
    const cones = multiply(BRADFORD, column).map((value, i) => (value * to[i]!) / from[i]!);
    return multiply(invert(BRADFORD), cones);
  });
  return transpose(columns);
}

const transpose = (m: Matrix): Matrix => m[0]!.map((_, column) => m.map((row) => row[column]!));
const multiply = (m: Matrix, v: readonly number[]) => m.map((row) => row.reduce((sum, a, i) => sum + a * v[i]!, 0));

function invert(m: Matrix): Matrix {
  const cross = (a: readonly number[], b: readonly number[]) =>
    [0, 1, 2].map((i) => a[(i + 1) % 3]! * b[(i + 2) % 3]! - a[(i + 2) % 3]! * b[(i + 1) % 3]!);
  const [a, b, c] = [m[0]!, m[1]!, m[2]!];
  const rows = [cross(b, c), cross(c, a), cross(a, b)];
  const determinant = a.reduce((sum, value, i) => sum + value * rows[0]![i]!, 0);
  return transpose(rows.map((row) => row.map((value) => value / determinant)));
}
