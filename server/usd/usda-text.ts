// Values in the text form of USD (OpenUSD, "USDA file format").

/** A string in quotes. Control characters have no place in a name and are dropped, as are halves of surrogate pairs. */
export function quote(text: string): string {
  const plain = text.replace(/[\p{Cc}\p{Cs}\u2028\u2029]+/gu, ' ');
  return `"${plain.replace(/[\\"]/g, '\\$&')}"`;
}

/**
 * A number in as few digits as single precision needs in practice: seven, which is a tenth of a micrometre on a product of one
 * metre.
 */
export function formatFloat(value: number): string {
  return Number.isFinite(value) ? String(Number(value.toPrecision(7)) + 0) : '0';
}

export const formatTuple = (values: Iterable<number>): string => `(${[...values].map(formatFloat).join(', ')})`;

/** Values per chunk of text: about 100 kB, so that no string of a whole model is ever needed. */
const CHUNK = 4096;

/**
 * The elements of an array in brackets, chunk by chunk.
 * @param width numbers of each element; elements of more than one are tuples
 */
export function* formatArray(values: ArrayLike<number>, width: number): Generator<string> {
  const whole = values instanceof Uint32Array;
  yield '[';
  for (let from = 0; from < values.length; from += CHUNK * width) {
    const to = Math.min(values.length, from + CHUNK * width);
    let text = '';
    for (let at = from; at < to; at += width) {
      if (at > 0) text += ', ';
      if (width === 1) {
        text += whole ? values[at] : formatFloat(values[at]!);
        continue;
      }
      text += '(';
      for (let c = 0; c < width; c++) text += (c > 0 ? ', ' : '') + formatFloat(values[at + c]!);
      text += ')';
    }
    yield text;
  }
  yield ']';
}
