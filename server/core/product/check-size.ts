import type { Mount } from '../picture/picture.ts';
import { PLACES } from '../texts/format-text.ts';
import { describeSheet, describeUsualSize, SOLD_SIZES } from '../texts/model-findings.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { Product, ProductClass, Sheet } from './product.ts';
import type { Survey } from './survey.ts';

/** Tolerance between model and data sheet: 1 % or 5 mm, whichever is more (common practice). */
const SHEET_TOLERANCE = { share: 0.01, mm: 5 } as const;

/**
 * Largest error of width and depth, once the height matches the sheet, for which scaling is proposed. Beyond it the
 * model has other proportions than the sheet. It is then another model, or the sheet is wrong.
 */
const PROPORTION_TOLERANCE = 0.03;

/**
 * A size within a quarter of its class's range is an odd size, not another unit. The smallest unit slip (foot) is 3.28,
 * and scaling a low lamp by it would be worse than asking.
 */
const NEARLY_PLAUSIBLE = 1.25;

type UnitFactor = (typeof UNIT_FACTORS)[number];

const PLACE = { where: '/scene', place: PLACES.size } as const;

/**
 * Compares the measured size with the data sheet. Without a sheet, compares it with the plausible sizes of the class,
 * or of any product.
 */
export function checkSize(product: Product, survey: Survey): Finding[] {
  if (!survey.size) return [];
  return product.sheet ? againstSheet(product.sheet, survey) : againstClass(product, survey.size);
}

function againstSheet(sheet: Sheet, { size, sizeIsExact }: Survey): Finding[] {
  if (!size || fits(sheet, size, 1)) return [];
  const slips = UNIT_FACTORS.filter(({ factor }) => fits(sheet, size, factor));
  const expected = { ...sheet, tolerance: SHEET_TOLERANCE };
  if (slips.length > 0) return [unitSlip(size, slips, describeSheet(sheet), expected)];
  const factor = sheet.heightMm / size.heightMm;
  const scales = !near(sheet.heightMm, size.heightMm) && hasProportions(sheet, size, factor);
  return [
    makeFinding(
      'size-off-sheet',
      {
        measured: size,
        sheet,
        isExact: sizeIsExact,
        scaled: scales ? { factor, size: times(size, factor) } : null,
        off: listOff(sheet, size),
      },
      {
        ...PLACE,
        seen: size,
        expected,
        ...(scales ? { repairs: [{ repair: 'scale', toHeightMm: sheet.heightMm }] } : {}),
      },
    ),
  ];
}

function againstClass(product: Product, size: Sheet): Finding[] {
  if (product.class === 'none') return againstAny(size);
  const plausible = SIZE_CLASSES[product.class];
  if (isInside(plausible, size)) return [];
  const usual = describeUsualSize(product.class, plausible);
  const slips = isInside(plausible, size, NEARLY_PLAUSIBLE)
    ? []
    : UNIT_FACTORS.filter(({ factor }) => isInside(plausible, times(size, factor)));
  if (slips.length > 0) return [unitSlip(size, slips, usual, plausible)];
  return [
    makeFinding(
      'size-implausible',
      { size, usual },
      {
        ...PLACE,
        seen: size,
        expected: plausible,
      },
    ),
  ];
}

/**
 * Without a class, only sizes that no product has are reported. Products vary so much in size that a fitting unit is a
 * guess, even if it is the only one. A person decides.
 */
function againstAny(size: Sheet): Finding[] {
  // A model without a size draws nothing. Other checks report that.
  const longest = Math.max(size.widthMm, size.depthMm, size.heightMm);
  if (!Number.isFinite(longest) || longest <= 0 || couldBeSold(size)) return [];
  const slips = UNIT_FACTORS.filter(({ factor }) => couldBeSold(times(size, factor)));
  if (slips.length > 0) return [{ ...unitSlip(size, slips, SOLD_SIZES, ANY_PRODUCT), asks: true }];
  return [
    makeFinding(
      'size-implausible:any',
      { size },
      {
        ...PLACE,
        seen: size,
        expected: ANY_PRODUCT,
      },
    ),
  ];
}

function couldBeSold({ widthMm, depthMm, heightMm }: Sheet): boolean {
  const sides = [widthMm, depthMm, heightMm].map((mm) => mm / 1000).sort((a, b) => b - a);
  return sides[0]! >= ANY_PRODUCT.longestAtLeast && sides.every((side, index) => side <= ANY_PRODUCT.sides[index]!);
}

/** One repair for each unit that fits. If several fit, the file cannot tell which is right, so a person decides. */
function unitSlip(size: Sheet, slips: readonly UnitFactor[], fitted: string, expected: unknown): Finding {
  const readings = slips.map(({ unit, factor }) => ({ unit, factor, size: times(size, factor) }));
  return makeFinding(
    'unit-slip',
    { size, readings, fits: fitted },
    {
      ...PLACE,
      seen: size,
      expected,
      repairs: slips.map(({ unit, factor }) => ({ repair: 'scale', factor, unit, seenHeightMm: size.heightMm })),
    },
  );
}

function fits(sheet: Sheet, size: Sheet, factor: number): boolean {
  const { widthMm, depthMm, heightMm } = times(size, factor);
  return near(sheet.widthMm, widthMm) && near(sheet.depthMm, depthMm) && near(sheet.heightMm, heightMm);
}

function near(wanted: number, got: number): boolean {
  return Math.abs(wanted - got) <= Math.max(SHEET_TOLERANCE.mm, wanted * SHEET_TOLERANCE.share);
}

function hasProportions(sheet: Sheet, size: Sheet, factor: number): boolean {
  if (!Number.isFinite(factor) || factor <= 0) return false;
  const agrees = (wanted: number, got: number) => Math.abs(got * factor - wanted) <= wanted * PROPORTION_TOLERANCE;
  return agrees(sheet.widthMm, size.widthMm) && agrees(sheet.depthMm, size.depthMm);
}

/** The sides that differ, in mm; positive is too large. */
function listOff(sheet: Sheet, size: Sheet): { side: string; mm: number }[] {
  const off = (side: string, wanted: number, got: number) => (near(wanted, got) ? [] : [{ side, mm: got - wanted }]);
  return [
    ...off('width', sheet.widthMm, size.widthMm),
    ...off('depth', sheet.depthMm, size.depthMm),
    ...off('height', sheet.heightMm, size.heightMm),
  ];
}

/** `slack` is a factor that widens the range on both sides. */
function isInside({ width, depth, height }: SizeClass, { widthMm, depthMm, heightMm }: Sheet, slack = 1): boolean {
  const within = ([low, high]: readonly [number, number], mm: number) =>
    mm >= (low * 1000) / slack && mm <= high * 1000 * slack;
  return within(width, widthMm) && within(depth, depthMm) && within(height, heightMm);
}

function times({ widthMm, depthMm, heightMm }: Sheet, factor: number): Sheet {
  return { widthMm: widthMm * factor, depthMm: depthMm * factor, heightMm: heightMm * factor };
}

type Range = readonly [number, number];

/** Plausible sizes in metres: height, width, depth. */
interface SizeClass {
  readonly height: Range;
  readonly width: Range;
  readonly depth: Range;
}

/**
 * Plausible overall sizes by class, in metres. Combines ranges of handbooks and supplier tables (EN 1729-1 and BIFMA
 * seat heights, furniture and lamp guides), widened by judgement. The ranges cause warnings and never state compliance.
 * `pendant-lamp`, and all footprints of `stool`, are common practice.
 */
export const SIZE_CLASSES: Readonly<Record<Exclude<ProductClass, 'none'>, SizeClass>> = {
  // From BIFMA G1's lowest seat and shortest backrest, 381 + 310 mm.
  'dining-chair': { height: [0.68, 1.2], width: [0.36, 0.7], depth: [0.38, 0.75] },
  armchair: { height: [0.6, 1.25], width: [0.55, 1.2], depth: [0.55, 1.2] },
  // EN 1729-1 seats of marks 4 to 7 (380–510 mm) and BIFMA G1's range (381–505 mm). Children's stools are lower.
  stool: { height: [0.38, 0.51], width: [0.25, 0.6], depth: [0.25, 0.6] },
  'bar-stool': { height: [0.6, 1.2], width: [0.3, 0.6], depth: [0.3, 0.6] },
  sofa: { height: [0.55, 1.1], width: [1.2, 3.6], depth: [0.7, 1.8] },
  'dining-table': { height: [0.68, 0.8], width: [0.6, 3.6], depth: [0.6, 1.6] },
  'coffee-table': { height: [0.25, 0.56], width: [0.4, 1.6], depth: [0.4, 1.2] },
  desk: { height: [0.6, 1.3], width: [0.7, 2.4], depth: [0.45, 1.1] },
  bed: { height: [0.25, 1.8], width: [0.75, 2.2], depth: [1.8, 2.4] },
  'table-lamp': { height: [0.2, 0.95], width: [0.08, 0.6], depth: [0.08, 0.6] },
  'floor-lamp': { height: [1.1, 2.4], width: [0.15, 1.2], depth: [0.15, 1.5] },
  'pendant-lamp': { height: [0.1, 2.5], width: [0.15, 0.8], depth: [0.15, 0.8] },
  mug: { height: [0.06, 0.14], width: [0.06, 0.16], depth: [0.06, 0.12] },
  bottle: { height: [0.15, 0.4], width: [0.05, 0.12], depth: [0.05, 0.12] },
  plate: { height: [0.005, 0.06], width: [0.14, 0.35], depth: [0.14, 0.35] },
};

/**
 * Plausible sizes in metres for products without a class. Upper limit: the largest piece a road vehicle carries, in any
 * orientation: 12 m long, 4 m high and 2.55 m wide (Council Directive 96/53/EC, rigid vehicles). Lower limit: a shirt
 * button, 5 mm along its longest side (common practice). Products assembled on site may be larger; their data sheet
 * then decides.
 */
const ANY_PRODUCT = { sides: [12, 4, 2.55], longestAtLeast: 0.005 } as const;

/**
 * Units that a file may use, each with its factor to metres. Then the reverse: metres that an exporter took for that
 * unit and converted to metres again.
 */
const UNIT_FACTORS = [
  { unit: 'mm', factor: 0.001 },
  { unit: 'cm', factor: 0.01 },
  { unit: 'inch', factor: 0.0254 },
  { unit: 'foot', factor: 0.3048 },
  { unit: 'metres taken for mm', factor: 1000 },
  { unit: 'metres taken for cm', factor: 100 },
  { unit: 'metres taken for inch', factor: 1 / 0.0254 },
  { unit: 'metres taken for foot', factor: 1 / 0.3048 },
] as const;

/** Largest distance of a part from its floor or wall: 2 mm, or half a per cent of the largest side. Judgement. */
const MOUNT_TOLERANCE = { metres: 0.002, share: 0.005 } as const;

/**
 * A larger offset from the centre, as a share of the side, is reported. Many products are centred on their stem, not on
 * their middle.
 */
const CENTRE_TOLERANCE = 0.05;
/** Beyond half a side, the origin is outside the product, and a viewer rotates or places it around the wrong point. */
const ORIGIN_OUTSIDE = 0.5;

type Box = NonNullable<Survey['box']>;

/** Where the product touches its surface: the axis, and the end of the box that belongs at 0. */
const CONTACT: Readonly<Record<Mount, { axis: 1 | 2; end: 'min' | 'max' }>> = {
  floor: { axis: 1, end: 'min' },
  table: { axis: 1, end: 'min' },
  ceiling: { axis: 1, end: 'max' },
  wall: { axis: 2, end: 'min' },
};

/**
 * Checks the position of the model for its mount. The floor, table top, ceiling or wall belongs at 0, and the origin in
 * the middle of the part that touches it, where the Khronos asset creation guidelines place pivots.
 * @param hasUnitSlip whether the size is in doubt; then shares of the size are reliable and millimetres are not
 */
export function checkMount(mount: Mount, { box }: Survey, hasUnitSlip: boolean): Finding[] {
  if (!box) return [];
  const sides = [0, 1, 2].map((axis) => box.max[axis]! - box.min[axis]!);
  const largest = Math.max(...sides);
  if (!Number.isFinite(largest) || largest <= 0) return [];
  const tolerance = Math.max(hasUnitSlip ? 0 : MOUNT_TOLERANCE.metres, largest * MOUNT_TOLERANCE.share);
  const { axis, end } = CONTACT[mount];
  const off = box[end][axis]!;
  const contact = Math.abs(off) > tolerance;
  const centre = findOffCentre(box, mount);
  if (!contact && centre.share <= CENTRE_TOLERANCE) return [];
  const outside = centre.share > ORIGIN_OUTSIDE;
  return [
    makeFinding(
      'off-mount',
      { mount, contactM: contact ? off : null, centre: centre.share > CENTRE_TOLERANCE ? centre : null },
      {
        where: '/scene',
        place: PLACES.mount(mount),
        seen: { [end === 'min' ? 'lowM' : 'highM']: off, offCentre: centre.share },
        expected: { at: 0, tolerance, offCentre: CENTRE_TOLERANCE },
        // If only the height is wrong, a small offset from the centre may be intentional and stays.
        repairs: [{ repair: 'place', mount, ...(centre.share > CENTRE_TOLERANCE ? {} : { centred: false }) }],
      },
      contact || outside ? 'warning' : 'note',
    ),
  ];
}

/**
 * The larger offset of the directions in which a product of this mount is centred. A wall product is centred only
 * sideways.
 */
function findOffCentre(box: Box, mount: Mount): { share: number; metres: number; axis: string } {
  let worst = { share: 0, metres: 0, axis: 'x' };
  for (const axis of mount === 'wall' ? [0] : [0, 2]) {
    const side = box.max[axis]! - box.min[axis]!;
    const middle = (box.max[axis]! + box.min[axis]!) / 2;
    const share = side > 0 ? Math.abs(middle) / side : 0;
    if (share > worst.share) worst = { share, metres: middle, axis: 'xyz'[axis]! };
  }
  return worst;
}
