import type { Three } from './colour-form.ts';

/** The letters that label the three numbers of a colour. */
type Labels = 'Lab' | 'XYZ';

/**
 * Reads the three numbers of a colour in any form that instruments, spreadsheets and data sheets write: `62 -6.8 15.3`,
 * `L*62 a*-6.8 b*15.3`, `L=62; a=-6,8; b=15,3`, `lab(62% -6.8 15.3)`, with decimal points or commas and with real minus signs.
 * Labelled numbers may come in any order. A viewing condition at the end, such as `D65/10°`, is ignored.
 * @returns the numbers as one would type them; null if the text is not exactly one such colour
 * @example readTriplet('L=62; a=-6,8; b=15,3', 'Lab') // ['62', '-6.8', '15.3']
 */
export function readTriplet(typed: string, labels: Labels): Three | null {
  const text = typed
    .normalize('NFKC')
    .replace(/[−–]/g, '-')
    .replace(/\b(?:cie\s*)?(?:l\*a\*b\*|lab|xyz)(?![a-z])\s*:?/gi, ' ')
    .replace(/[,;/]?\s*\bD(?:50|65)\b|[,;/]?\s*\b(?:2|10)\s*(?:°|deg)|%|\/\s*1\s*(?=\)?\s*$)/gi, ' ')
    .replace(/[()[\]{}]/g, ' ')
    .trim();
  return readLabelled(text, labels) ?? readPlain(text);
}

const NUMBER = String.raw`[+-]?\d+(?:[.,]\d+)?`;

function readLabelled(text: string, labels: Labels): Three | null {
  const [first, second, third] = [...labels].map((letter) => {
    // a star or a sign of equality may follow the letter: “L*”, “a* =”, “b:”
    const found = [...text.matchAll(new RegExp(`(?<![a-z])${letter}\\s*\\*?\\s*[:=]?\\s*(${NUMBER})(?![\\d.])`, 'gi'))];
    return found.length === 1 ? found[0]![1]! : null;
  });
  return first && second && third ? [tidy(first), tidy(second), tidy(third)] : null;
}

function readPlain(text: string): Three | null {
  const apart = text.split(/\s*[;|/]\s*|,?\s+/).filter(Boolean);
  const numbers = apart.length === 1 ? splitAtCommas(apart[0]!) : apart;
  if (numbers.length !== 3 || !numbers.every((each) => new RegExp(`^${NUMBER}$`).test(each))) return null;
  return [tidy(numbers[0]!), tidy(numbers[1]!), tidy(numbers[2]!)];
}

/** Without spaces a comma separates numbers, or is also a decimal comma in each of them: `62,0,-6,8,15,3`. */
function splitAtCommas(text: string): string[] {
  const pieces = text.split(',');
  if (pieces.length !== 6) return pieces;
  return [0, 2, 4].map((at) => `${pieces[at]},${pieces[at + 1]}`);
}

function tidy(number: string): string {
  return number.replace(',', '.').replace(/^\+/, '');
}
