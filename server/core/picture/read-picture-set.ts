import { checkCode, checkName, KEY_PATTERN } from '../codes.ts';
import { Problem } from '../problems.ts';
import { PICTURE_SET_PROBLEMS } from '../texts/problems/picture.ts';
import { CALL_PROBLEMS } from '../texts/problems/request.ts';
import { type NameField, readNameTemplate } from './file-name.ts';
import { findGround, type Ground, PICTURE_SIZE_PX, type ShotView, SWATCH_KINDS, VIEWS } from './picture.ts';
import {
  DEFAULT_FILL,
  DEFAULT_NAMES,
  DEFAULT_SWATCH_NAMES,
  type Frame,
  isPrinted,
  listFrameSizes,
  type PictureSet,
  type SetFormat,
  type SetShadow,
  type SetSubject,
} from './picture-set.ts';

/** A picture set as received. Its shape is checked, its values are not. */
export interface GivenPictureSet {
  readonly name: string;
  /**
   * Views of each variant; or `swatches`, one for each of their finishes. Front and three-quarter views when both are
   * absent.
   */
  readonly views?: readonly string[];
  readonly swatches?: readonly string[];
  /** Sides of squares, in pixels; or `widthPx` and `heightPx`; or `widthMm`, `heightMm` and `ppi`. */
  readonly sizes?: readonly number[];
  readonly widthPx?: number;
  readonly heightPx?: number;
  readonly widthMm?: number;
  readonly heightMm?: number;
  readonly ppi?: number;
  readonly bleedMm?: number;
  readonly format: SetFormat;
  readonly quality?: number;
  /** White when absent. */
  readonly ground?: string;
  /** With a shadow when absent; without one for swatches. */
  readonly shadow?: SetShadow;
  readonly fill?: { readonly minPercent: number; readonly maxPercent: number };
  /** `product` when absent. */
  readonly scale?: 'product' | 'line';
  readonly names?: string;
  readonly gs1Names?: boolean;
  readonly profile?: 'srgb';
}

/** Limits of sizes: tiles cover these sides, and this many pixels fit in memory together. */
export const SET_LIMITS = {
  sidePx: { min: PICTURE_SIZE_PX.min, max: PICTURE_SIZE_PX.printMax },
  /** Two hundred megabytes while drawn. */
  pixels: PICTURE_SIZE_PX.pixels,
  /** Of a swatch, which is drawn as one tile. */
  swatchPx: { min: PICTURE_SIZE_PX.min, max: PICTURE_SIZE_PX.swatchMax },
  sideMm: { min: 1, max: 2000 },
  ppi: { min: 36, max: 1200 },
  bleedMm: { min: 0, max: 20 },
  fillPercent: { min: 10, max: 100 },
  quality: { min: 1, max: 100 },
} as const;

/**
 * Makes a picture set from received fields.
 * @throws Problem `invalid-picture-set`, `file-name-template`, `unknown-name-field`, and as `checkCode`, `checkName`
 */
export function readPictureSet(code: string, given: GivenPictureSet): PictureSet {
  const subject = readSubject(given);
  const ofFinishes = subject.kind === 'finishes';
  const frame = readFrame(given);
  if (ofFinishes) checkSwatchFrame(frame);
  const names = given.names ?? (ofFinishes ? DEFAULT_SWATCH_NAMES : DEFAULT_NAMES);
  checkNames(names, ofFinishes);
  if (ofFinishes && given.gs1Names) {
    refuse(TEXTS.gs1OfSwatches, '/gs1Names');
  }
  if (ofFinishes && given.scale === 'line') {
    refuse(TEXTS.scaleOfSwatches, '/scale');
  }
  const ground = readGround(given.ground ?? 'white');
  const shadow = given.shadow ?? (ofFinishes ? 'without' : 'with');
  checkLayers(given.format, ground, shadow, ofFinishes);
  const quality = readQuality(given);
  return {
    code: checkSetCode(code),
    name: checkName(given.name, '/name'),
    subject,
    frame,
    format: given.format,
    ...(quality !== undefined && { quality }),
    ground,
    shadow,
    fill: readFill(given.fill),
    scale: given.scale ?? 'product',
    names,
    gs1Names: given.gs1Names ?? false,
    profile: 'srgb',
  };
}

const TEXTS = PICTURE_SET_PROBLEMS['invalid-picture-set'];

/** The URL of a set plus `.zip` is the URL of its files. */
function checkSetCode(code: string): string {
  checkCode(code, 'picture set');
  if (!/\.zip$/i.test(code)) return code;
  throw new Problem('reserved-code', {
    detail: CALL_PROBLEMS['reserved-code'].endsInZip,
    expected: 'a code that does not end in .zip',
    received: code,
  });
}

const SLOT_VIEW = new RegExp(`^slot:${KEY_PATTERN.slice(1)}`);

function readSubject({ views, swatches }: GivenPictureSet): SetSubject {
  if (views && swatches) {
    refuse(TEXTS.viewsAndSwatches, '/swatches');
  }
  if (swatches) {
    const kinds = listOnce(swatches, '/swatches').map((kind, i) => {
      const known = SWATCH_KINDS.find((each) => each === kind);
      return (
        known ?? refuse(TEXTS.unknownSwatch(kind.slice(0, 40), SWATCH_KINDS), `/swatches/${i}`, SWATCH_KINDS, kind)
      );
    });
    return { kind: 'finishes', swatches: kinds };
  }
  const given = listOnce(views ?? ['front', 'three-quarter'], '/views').map((view, i): ShotView => {
    const named = VIEWS.find((each) => each === view);
    if (named) return named;
    if (SLOT_VIEW.test(view)) return view as ShotView;
    const known = [...VIEWS, 'slot:{slot}'];
    return refuse(TEXTS.unknownView(view.slice(0, 40), known), `/views/${i}`, known, view);
  });
  return { kind: 'variants', views: given };
}

function listOnce<T>(given: readonly T[], where: string): readonly T[] {
  if (given.length === 0) refuse(TEXTS.emptyList, where);
  const twice = given.find((each, i) => given.includes(each, i + 1));
  if (twice !== undefined) refuse(TEXTS.listedTwice(String(twice).slice(0, 40)), where);
  return given;
}

/** Ways to state a picture size, each with its fields. */
const WAYS = [['sizes'], ['widthPx', 'heightPx'], ['widthMm', 'heightMm', 'ppi']] as const;

function readFrame(set: GivenPictureSet): Frame {
  const begun = WAYS.filter((fields) => fields.some((field) => set[field] !== undefined));
  const [way] = begun;
  if (way === undefined || begun.length > 1) {
    const ways = WAYS.map((fields) => fields.join(', '));
    const given = begun.map((fields) => fields.join(', ')).join(' and ');
    return refuse(way ? TEXTS.severalSizes(given, ways) : TEXTS.noSize(ways), '', ways);
  }
  const missing = way.find((field) => set[field] === undefined);
  if (missing) return refuse(TEXTS.missingSize(missing), `/${missing}`, way.join(', '));
  if (set.bleedMm !== undefined && way[0] !== 'widthMm') {
    refuse(TEXTS.bleedWithoutPrint, '/bleedMm');
  }
  const frame = makeFrame(set);
  for (const { widthPx, heightPx } of listFrameSizes(frame)) {
    const where = way.length === 1 ? '/sizes' : `/${way[0]}`;
    for (const side of [widthPx, heightPx]) within(side, SET_LIMITS.sidePx, 'A side of the picture', 'px', where, true);
    if (widthPx * heightPx > SET_LIMITS.pixels) {
      refuse(TEXTS.tooManyPixels(widthPx, heightPx, SET_LIMITS.pixels), where, `${SET_LIMITS.pixels} pixels at most`);
    }
  }
  return frame;
}

function makeFrame({ sizes, widthPx, heightPx, widthMm, heightMm, ppi, bleedMm = 0 }: GivenPictureSet): Frame {
  if (sizes) return { sizesPx: listOnce(sizes, '/sizes') };
  if (widthPx !== undefined) return { widthPx, heightPx: heightPx! };
  const { sideMm } = SET_LIMITS;
  return {
    widthMm: within(widthMm!, sideMm, 'The width', 'mm', '/widthMm'),
    heightMm: within(heightMm!, sideMm, 'The height', 'mm', '/heightMm'),
    ppi: within(ppi!, SET_LIMITS.ppi, 'The resolution', 'ppi', '/ppi'),
    bleedMm: within(bleedMm, SET_LIMITS.bleedMm, 'The bleed', 'mm', '/bleedMm'),
  };
}

function checkSwatchFrame(frame: Frame): void {
  for (const { widthPx, heightPx } of listFrameSizes(frame)) {
    if (widthPx !== heightPx) {
      refuse(TEXTS.swatchNotSquare(widthPx, heightPx), isPrinted(frame) ? '/heightMm' : '/heightPx');
    }
    within(widthPx, SET_LIMITS.swatchPx, 'A side of a swatch', 'px', 'sizesPx' in frame ? '/sizes' : '');
  }
}

function readGround(text: string): Ground {
  const ground = findGround(text);
  return ground ?? refuse(TEXTS.unknownBackground(text.slice(0, 20)), '/ground', 'transparent, white or #rrggbb', text);
}

function checkLayers(format: SetFormat, ground: Ground, shadow: SetShadow, ofFinishes: boolean): void {
  if (format === 'jpg' && ground === 'transparent') {
    refuse(TEXTS.jpegBackground, '/ground');
  }
  if (format === 'jpg' && shadow === 'separate') {
    refuse(TEXTS.jpegShadow, '/shadow');
  }
  if (ofFinishes && shadow !== 'without') {
    refuse(TEXTS.shadowOfSwatches, '/shadow');
  }
}

function readQuality({ format, quality }: GivenPictureSet): number | undefined {
  if (quality === undefined) return undefined;
  if (format === 'png' || format === 'tiff') {
    refuse(TEXTS.qualityOfLossless(format.toUpperCase()), '/quality');
  }
  return within(quality, SET_LIMITS.quality, 'The quality', '', '/quality', true);
}

function readFill(fill: GivenPictureSet['fill'] = DEFAULT_FILL): PictureSet['fill'] {
  const { fillPercent } = SET_LIMITS;
  const minPercent = within(fill.minPercent, fillPercent, 'The minimum fill', '%', '/fill/minPercent');
  const maxPercent = within(fill.maxPercent, fillPercent, 'The maximum fill', '%', '/fill/maxPercent');
  if (minPercent > maxPercent) {
    refuse(TEXTS.fillOrder(minPercent, maxPercent), '/fill');
  }
  return { minPercent, maxPercent };
}

/** Fields that only variants have. */
const OF_VARIANTS: ReadonlySet<NameField> = new Set(['variant', 'gtin']);

function checkNames(template: string, ofFinishes: boolean): void {
  const parts = readNameTemplate(template, '/names');
  const unfit = parts.find((part) => typeof part !== 'string' && ofFinishes && OF_VARIANTS.has(part.field));
  if (!unfit || typeof unfit === 'string') return;
  refuse(TEXTS.fieldOfVariants(unfit.field), '/names');
}

function within(
  value: number,
  { min, max }: { readonly min: number; readonly max: number },
  what: string,
  unit: string,
  where: string,
  whole = false,
): number {
  if (Number.isFinite(value) && value >= min && value <= max && (!whole || Number.isInteger(value))) return value;
  const range = `${whole ? 'a whole number from ' : ''}${min} to ${max}${unit && ` ${unit}`}`;
  const detail = Number.isFinite(value)
    ? TEXTS.outsideRange(what, `${value}${unit && ` ${unit}`}`, range)
    : TEXTS.notANumber(what, range);
  return refuse(detail, where, range, value);
}

function refuse(detail: string, where: string, expected?: unknown, received?: unknown): never {
  throw new Problem('invalid-picture-set', {
    detail,
    ...(expected !== undefined && { expected }),
    ...(received !== undefined && { received }),
    where,
  });
}

/** Writes a set in its received form. Reading the result gives the same set. */
export function toGivenPictureSet({ code: _, subject, frame, ...rest }: PictureSet): GivenPictureSet {
  return {
    ...rest,
    ...(subject.kind === 'variants' ? { views: subject.views } : { swatches: subject.swatches }),
    ...(isPrinted(frame) || 'widthPx' in frame ? frame : { sizes: frame.sizesPx }),
  };
}
