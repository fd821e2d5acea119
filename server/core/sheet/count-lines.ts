/** Widths of a letter, mm: those of the face at 9, 8 and 7 points, on the average of English text, and a tenth more. */
const LETTER_MM = { title: 1.75, name: 1.55, small: 1.25 } as const;

/** How many lines a text takes in a width, at most, as a rule: the core knows no font. */
export function countLines(text: string, size: keyof typeof LETTER_MM, widthMm: number): number {
  return Math.ceil((text.length * LETTER_MM[size]) / widthMm);
}
