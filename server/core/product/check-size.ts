import { type Finding, makeFinding } from './finding.ts';
import type { Product, Sheet } from './product.ts';
import { SIZE_CLASSES, UNIT_FACTORS } from './size-classes.ts';
import type { Survey } from './survey.ts';

/** A model may differ from its sheet by 1 % or 5 mm, whichever is more (common practice). */
export const SHEET_TOLERANCE = { share: 0.01, mm: 5 } as const;

/** Compares the measured size with the data sheet; without one, with what the class makes plausible. */
export function checkSize(product: Product, survey: Survey): Finding[] {
  if (!survey.size) return [];
  return product.sheet ? againstSheet(product.sheet, survey.size) : againstClass(product, survey.size);
}

function againstSheet(sheet: Sheet, size: Sheet): Finding[] {
  if (fits(sheet, size, 1)) return [];
  const slip = UNIT_FACTORS.find(({ factor }) => fits(sheet, size, factor));
  if (slip) return [unitSlip(size, [slip], say(sheet))];
  return [
    makeFinding('size-off-sheet', {
      where: 'overall size',
      message: `The model measures ${say(size)}, the data sheet says ${say(sheet)} (width × depth × height). Scale the model, or mend the sheet.`,
      seen: size,
      expected: { ...sheet, tolerance: SHEET_TOLERANCE },
    }),
  ];
}

function againstClass(product: Product, size: Sheet): Finding[] {
  if (product.class === 'none') return [];
  const plausible = SIZE_CLASSES[product.class];
  const inside = (factor: number) =>
    within(plausible.height, size.heightMm * factor) &&
    within(plausible.width, size.widthMm * factor) &&
    within(plausible.depth, size.depthMm * factor);
  if (inside(1)) return [];
  const slips = UNIT_FACTORS.filter(({ factor }) => inside(factor));
  const metres = (range: readonly [number, number]) => `${range[0] * 1000}–${range[1] * 1000}`;
  const expected = `a ${product.class}: ${metres(plausible.width)} × ${metres(plausible.depth)} × ${metres(plausible.height)} mm`;
  if (slips.length > 0) return [unitSlip(size, slips, expected)];
  return [
    makeFinding('size-implausible', {
      where: 'overall size',
      message: `The model measures ${say(size)}, which is unusual for ${expected} (a range of judgement). Give the sheet dimensions, or check the class.`,
      seen: size,
      expected: plausible,
    }),
  ];
}

function unitSlip(size: Sheet, slips: readonly { unit: string; factor: number }[], expected: string): Finding {
  const units = slips.map((slip) => slip.unit).join(' or ');
  return makeFinding('unit-slip', {
    where: 'overall size',
    message: `The model measures ${say(size)}; read as ${units} it would fit ${expected}. ${slips.length > 1 ? 'More than one unit fits: ask whoever made it.' : 'Export it in metres.'}`,
    seen: size,
    expected,
    repairs: slips.map(({ unit, factor }) => ({ repair: 'scale', factor, unit })),
  });
}

function fits(sheet: Sheet, size: Sheet, factor: number): boolean {
  const near = (wanted: number, got: number) =>
    Math.abs(wanted - got * factor) <= Math.max(SHEET_TOLERANCE.mm, wanted * SHEET_TOLERANCE.share);
  return near(sheet.widthMm, size.widthMm) && near(sheet.depthMm, size.depthMm) && near(sheet.heightMm, size.heightMm);
}

const within = ([low, high]: readonly [number, number], mm: number) => mm >= low * 1000 && mm <= high * 1000;

function say({ widthMm, depthMm, heightMm }: Sheet): string {
  const figure = (mm: number) => (mm < 10 ? mm.toFixed(1) : Math.round(mm).toString());
  return `${figure(widthMm)} × ${figure(depthMm)} × ${figure(heightMm)} mm`;
}
