import { Problem } from '../problems.ts';
import { CALL_PROBLEMS } from '../texts/problems/call.ts';

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
    detail: CALL_PROBLEMS['invalid-field'][comma ? 'decimalComma' : 'notANumber'](what, text.slice(0, 30)),
    expected: 'a number',
    received: text.slice(0, 30),
    where: what,
  });
}
