import { Problem } from '../problems.ts';

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i;

/**
 * A number as text files write it, with a decimal point; a comma is one only where `decimalComma` says so.
 * @throws Problem `invalid-field`
 */
export function readNumber(text: string, what: string, decimalComma = false): number {
  const plain = decimalComma ? text.replace(',', '.') : text;
  if (NUMBER.test(plain)) return Number(plain);
  const comma = text.includes(',') && !decimalComma;
  throw new Problem('invalid-field', {
    detail: `${what} is “${text.slice(0, 30)}”, which is no number. ${
      comma
        ? 'Write it with a decimal point; a comma is taken in CSV separated by semicolons.'
        : 'Write figures, such as 38.1.'
    }`,
    expected: 'a number',
    received: text.slice(0, 30),
    where: what,
  });
}
