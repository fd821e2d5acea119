import type { ProblemTexts } from './problem-text.ts';

/** Texts about codes, names and notes, whatever they are sent with. */
export const CALL_PROBLEMS = {
  'invalid-code': (kind: string) =>
    `This is not a valid code for a ${kind}. Start with a letter or digit, then use letters, digits, dots, underscores or hyphens; 64 characters at most.`,
  'reserved-code': {
    inAddresses: (code: string, kind: string) =>
      `The code “${code}” is reserved because addresses use it. Choose another code for the ${kind}.`,
    endsInZip:
      'The code of a picture set cannot end in .zip, because the address of its ZIP file does. Choose another code.',
  },
  'name-too-long': (length: number, max: number) =>
    `The name has ${length} characters; ${max} are allowed. Shorten it.`,
  'invalid-name':
    'A name needs at least one visible character and cannot contain control characters. Correct the name.',
  'invalid-field': {
    noteTooLong: (length: number, max: number) => `The note has ${length} characters; ${max} are allowed. Shorten it.`,
    notANumber: (field: string, text: string) =>
      `${field} is “${text}”, which is not a number. Use digits, such as 38.1.`,
    decimalComma: (field: string, text: string) =>
      `${field} is “${text}”, which is not a number. Use a decimal point; decimal commas work only in CSV files separated by semicolons.`,
    unknownBackground: (text: string) =>
      `“${text}” is not a background colour. Use transparent, white, or a colour as rrggbb.`,
  },
} as const satisfies ProblemTexts;
