import type { Mount } from '../picture/picture.ts';
import { PLACES } from '../texts/format-text.ts';
import { describeSheet, describeUsualSize, SOLD_SIZES } from '../texts/model-findings.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { Product, ProductClass, Sheet } from './product.ts';
import type { Survey } from './survey.ts';

/** A model may differ from its sheet by 1 % or 5 mm, whichever is more (common practice). */
export const SHEET_TOLERANCE = { share: 0.01, mm: 5 } as const;

/**
 * How far width and depth may be off, once the height is the sheet's, for scaling to be worth proposing. Beyond it the
 * model has other proportions than the sheet, and is another model or a badly measured one.
 */
const PROPORTION_TOLERANCE = 0.03;

/**
 * A size within a quarter of its class's range is an odd size, not another unit: the smallest unit slip (foot) is 3.28,
 * and scaling a low lamp by it would be worse than asking.
 */
const NEARLY_PLAUSIBLE = 1.25;

type UnitFactor = (typeof UNIT_FACTORS)[number];

const PLACE = { where: '/scene', place: PLACES.size } as const;

/** Compares the measured size with the data sheet; without one, with what the class makes plausible, or any product. */
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
 * Without a class only what no product measures is remarked on. Products come in so many sizes that a unit that fits is a
 * guess, even where it is the only one: a person is asked.
 */
function againstAny(size: Sheet): Finding[] {
  // what has no size draws nothing, and other checks say so
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

/** One repair for each unit that fits. Where several do, nothing in the file tells which, so a person is asked. */
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

/** Which of the three are off, and by how much; above 0 is too large. */
function listOff(sheet: Sheet, size: Sheet): { side: string; mm: number }[] {
  const off = (side: string, wanted: number, got: number) => (near(wanted, got) ? [] : [{ side, mm: got - wanted }]);
  return [
    ...off('width', sheet.widthMm, size.widthMm),
    ...off('depth', sheet.depthMm, size.depthMm),
    ...off('height', sheet.heightMm, size.heightMm),
  ];
}

/** `slack` widens the range on both sides by a factor. */
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
export interface SizeClass {
  readonly height: Range;
  readonly width: Range;
  readonly depth: Range;
}

/**
 * Plausible overall sizes by class, in metres.
 * A derived union of handbook and supplier tables (EN 1729-1 and BIFMA seat heights, furniture and lamp guides), widened
 * by judgement: ranges that warn, never a statement of compliance. `pendant-lamp`, and all footprints of `stool`, are
 * common practice.
 */
export const SIZE_CLASSES: Readonly<Record<Exclude<ProductClass, 'none'>, SizeClass>> = {
  // from BIFMA G1's lowest seat and shortest backrest, 381 + 310 mm
  'dining-chair': { height: [0.68, 1.2], width: [0.36, 0.7], depth: [0.38, 0.75] },
  armchair: { height: [0.6, 1.25], width: [0.55, 1.2], depth: [0.55, 1.2] },
  // EN 1729-1 seats of marks 4 to 7 (380–510 mm) and BIFMA G1's range (381–505 mm); children's stools are lower
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
 * Sizes, in metres, of anything that is made and sold, for products of no class. At most what a road vehicle carries in one
 * piece, however it is turned: 12 m long, 4 m high and 2.55 m wide (Council Directive 96/53/EC, rigid vehicles). At least
 * the size of a shirt button, 5 mm along its longest side (common practice). What is put up from parts on site may be
 * larger; its data sheet then decides.
 */
export const ANY_PRODUCT = { sides: [12, 4, 2.55], longestAtLeast: 0.005 } as const;

/**
 * Units a file may have been written in, by the factor that brings it to metres; then the reverse: metres that an exporter
 * took for that unit and made metres of once more.
 */
export const UNIT_FACTORS = [
  { unit: 'mm', factor: 0.001 },
  { unit: 'cm', factor: 0.01 },
  { unit: 'inch', factor: 0.0254 },
  { unit: 'foot', factor: 0.3048 },
  { unit: 'metres taken for mm', factor: 1000 },
  { unit: 'metres taken for cm', factor: 100 },
  { unit: 'metres taken for inch', factor: 1 / 0.0254 },
  { unit: 'metres taken for foot', factor: 1 / 0.3048 },
] as const;

/** How far a part may be from its floor or wall: 2 mm, or half a per cent of the largest side. Judgement. */
const MOUNT_TOLERANCE = { metres: 0.002, share: 0.005 } as const;

/** Off centre by more than this share of the side is remarked on: many products stand on their stem, not their middle. */
const CENTRE_TOLERANCE = 0.05;
/** Beyond half a side the origin is outside the product, and a viewer turns or sets it down somewhere else. */
const ORIGIN_OUTSIDE = 0.5;

type Box = NonNullable<Survey['box']>;

/** What touches what: which axis and which end of the box is to be at 0. */
const CONTACT: Readonly<Record<Mount, { axis: 1 | 2; end: 'min' | 'max' }>> = {
  floor: { axis: 1, end: 'min' },
  table: { axis: 1, end: 'min' },
  ceiling: { axis: 1, end: 'max' },
  wall: { axis: 2, end: 'min' },
};

/**
 * Where the model stands by its mount: the floor, table top, ceiling or wall is at 0 and the origin in the middle of the
 * part that touches it, as the Khronos asset creation guidelines place pivots.
 * @param hasUnitSlip whether its size is in doubt: then only shares of the size tell anything, and millimetres do not
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
        // one that is a little off its middle by intent is let be when only its height is wrong
        repairs: [{ repair: 'place', mount, ...(centre.share > CENTRE_TOLERANCE ? {} : { centred: false }) }],
      },
      contact || outside ? 'warning' : 'note',
    ),
  ];
}

/** The worse of the directions along which a product of this mount is centred; one on a wall only sideways. */
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
