/** The parts of an ICC profile that a conversion to sRGB needs. */
export interface IccProfile {
  /** Its description; null without one. */
  readonly name: string | null;
  readonly colour:
    | { readonly kind: 'matrix'; readonly curves: readonly ToneCurve[]; readonly toXyz: Colorants }
    | { readonly kind: 'grey'; readonly curve: ToneCurve }
    /** Tables, or a kind of profile that is not read here. */
    | { readonly kind: 'other' };
}

/** XYZ under D50 of full red, green and blue; the Y of white is 1. */
export type Colorants = readonly [Xyz, Xyz, Xyz];
type Xyz = readonly [number, number, number];

const HEADER_BYTES = 128;
/** Most characters of a name. */
const NAME_LENGTH = 80;

/**
 * Reads an embedded ICC profile of version 2 or 4 (ICC.1:2022). Tables take precedence over matrix and curves where a
 * profile has both; an unreadable profile has the kind `other`. Never throws.
 */
export function readProfile(icc: Buffer): IccProfile {
  try {
    const tags = readTags(icc);
    return { name: readName(tags.get('desc')), colour: readColour(icc, tags) };
  } catch {
    return { name: null, colour: { kind: 'other' } };
  }
}

/** Elements by signature (§7.3). */
function readTags(icc: Buffer): Map<string, Buffer> {
  if (icc.toString('latin1', 36, 40) !== 'acsp') throw new RangeError('no profile file signature');
  const count = icc.readUInt32BE(HEADER_BYTES);
  const tags = new Map<string, Buffer>();
  for (let i = 0; i < count; i++) {
    const at = HEADER_BYTES + 4 + 12 * i;
    const start = icc.readUInt32BE(at + 4);
    tags.set(icc.toString('latin1', at, at + 4), icc.subarray(start, start + icc.readUInt32BE(at + 8)));
  }
  return tags;
}

function readColour(icc: Buffer, tags: ReadonlyMap<string, Buffer>): IccProfile['colour'] {
  const space = icc.toString('latin1', 16, 20);
  const tables = [...tags.keys()].some((tag) => /^[AD]2B\d$/.test(tag));
  if (tables || icc.toString('latin1', 20, 24) !== 'XYZ ') return { kind: 'other' };
  const grey = tags.get('kTRC');
  if (space === 'GRAY' && grey) return { kind: 'grey', curve: readToneCurve(grey) };
  const curves = listTags(tags, ['rTRC', 'gTRC', 'bTRC']);
  const colorants = listTags(tags, ['rXYZ', 'gXYZ', 'bXYZ']);
  if (space !== 'RGB ' || !curves || !colorants) return { kind: 'other' };
  return { kind: 'matrix', curves: curves.map(readToneCurve), toXyz: colorants.map(readXyz) as never };
}

function listTags(tags: ReadonlyMap<string, Buffer>, names: readonly string[]): Buffer[] | null {
  const found = names.flatMap((name) => tags.get(name) ?? []);
  return found.length === names.length ? found : null;
}

/** `XYZType` (§10.31): s15Fixed16 numbers. */
function readXyz(element: Buffer): Xyz {
  return [8, 12, 16].map((at) => element.readInt32BE(at) / 65536) as unknown as Xyz;
}

/** `multiLocalizedUnicodeType` (§10.15), or `textDescriptionType` of version 2 (ICC.1:2001-04 §6.5.17). */
function readName(element: Buffer | undefined): string | null {
  if (!element) return null;
  const type = element.toString('latin1', 0, 4);
  let text = '';
  if (type === 'desc') text = element.toString('latin1', 12, 12 + element.readUInt32BE(8));
  if (type === 'mluc' && element.readUInt32BE(8) > 0) {
    const start = element.readUInt32BE(24);
    text = Buffer.from(element.subarray(start, start + element.readUInt32BE(20)))
      .swap16()
      .toString('utf16le');
  }
  const name = text
    .replace(/\p{C}+/gu, ' ')
    .trim()
    .slice(0, NAME_LENGTH);
  return name || null;
}

/** The light of a channel's code; both 0–1. */
export type ToneCurve = (code: number) => number;

/** Number of parameters of each kind of parametric curve (ICC.1:2022 §10.18, table 68), in the order g a b c d e f. */
const PARAMETERS = [1, 3, 4, 5, 7];

/**
 * Reads a `curveType` (ICC.1:2022 §10.6) or `parametricCurveType` (§10.18) element.
 * @throws RangeError for an element that ends early, or is of another type
 */
export function readToneCurve(element: Buffer): ToneCurve {
  const type = element.toString('latin1', 0, 4);
  if (type === 'curv') return readTable(element);
  if (type === 'para') return readParametric(element);
  throw new RangeError(`a tone curve of the type “${type}”`);
}

function readTable(element: Buffer): ToneCurve {
  const count = element.readUInt32BE(8);
  if (count === 0) return (code) => code;
  if (count === 1) {
    const gamma = element.readUInt16BE(12) / 256;
    return (code) => code ** gamma;
  }
  if (element.length < 12 + 2 * count) throw new RangeError('a tone curve that ends early');
  const values = Float64Array.from({ length: count }, (_, i) => element.readUInt16BE(12 + 2 * i) / 65535);
  return (code) => {
    const at = code * (count - 1);
    const below = Math.min(count - 2, Math.floor(at));
    return values[below]! + (values[below + 1]! - values[below]!) * (at - below);
  };
}

function readParametric(element: Buffer): ToneCurve {
  const kind = element.readUInt16BE(8);
  const count = PARAMETERS[kind];
  if (count === undefined) throw new RangeError(`a parametric curve of the kind ${kind}`);
  const given = Array.from({ length: count }, (_, i) => element.readInt32BE(12 + 4 * i) / 65536);
  const [g = 1, a = 1, b = 0] = given;
  const power = (code: number) => Math.max(0, a * code + b) ** g;
  if (kind === 0) return (code) => code ** g;
  if (kind <= 2) {
    const c = given[3] ?? 0;
    return (code) => (code >= -b / a ? power(code) + c : c);
  }
  const [c = 0, d = 0, e = 0, f = 0] = given.slice(3);
  return (code) => (code >= d ? power(code) + e : c * code + f);
}
