/** What a channel's code means in light, both 0–1. */
export type ToneCurve = (code: number) => number;

/** Parameters each kind of parametric curve has (ICC.1:2022 §10.18, table 68), in the order g a b c d e f. */
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
