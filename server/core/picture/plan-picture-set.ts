import { nameByGs1, readGtin } from '../gs1.ts';
import { Problem } from '../problems.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import { choiceOf } from '../schedule/schedule.ts';
import { PICTURE_SET_PROBLEMS } from '../texts/problems/picture.ts';
import {
  fillNameTemplate,
  listCollisions,
  type NameField,
  type NamePart,
  readNameTemplate,
  toFileName,
} from './file-name.ts';
import { isNamedView, type ShotView, type SwatchKind } from './picture.ts';
import { FORMAT_ENDINGS, type FrameSize, isPrinted, listFrameSizes, type PictureSet } from './picture-set.ts';

/** The facts of a product that a plan needs. */
export interface SetProduct {
  readonly product: string;
  /** Code of its line; null without one. */
  readonly line: string | null;
  /** Keys of slots that show their chosen finish, in the product's order. */
  readonly slots: readonly string[];
  /** Keys of slots that can have a close-up, including parts that never change finish. */
  readonly closeViews: readonly string[];
}

export interface SetVariant {
  readonly code: string;
  readonly name: string;
  /** Slot to finish. */
  readonly choices: Readonly<Record<string, string>>;
  /** As the maker states it; checked here. */
  readonly gtin?: string;
}

/**
 * Everything in the set that determines a picture, except its name. Pictures of the same model with the same key are
 * identical. The caller adds digests of model and finishes.
 */
export interface PictureKey {
  readonly of: { readonly choices: Readonly<Record<string, string>> } | { readonly finish: string };
  readonly view: ShotView | SwatchKind;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bleedPx: number;
  readonly ppi: number | null;
  readonly format: PictureSet['format'];
  readonly quality: number | null;
  readonly ground: PictureSet['ground'];
  readonly fill: PictureSet['fill'];
  readonly scale: PictureSet['scale'];
  /** `bare`: without its shadow. `shadow`: the shadow alone, transparent. */
  readonly layer: 'whole' | 'bare' | 'shadow';
}

export interface PlannedPicture extends PictureKey {
  readonly fileName: string;
  readonly namedBy: 'template' | 'gs1';
  /** Code of the variant; null for swatches. */
  readonly variant: string | null;
}

interface PictureSetPlan {
  /** In the order of the variants, then views, then sizes. */
  readonly pictures: readonly PlannedPicture[];
  /** Views of slots that this product does not have. */
  readonly leftOut: readonly ShotView[];
}

/** Added to a picture's name to name its separate shadow file. */
const SHADOW_MARK = '_shadow';

/** Most collisions or variants that a message names one by one. */
const MOST_NAMED = 20;

/**
 * Plans the files of a set for one product. Names differ even if case is ignored, because some file systems ignore it.
 * @param finishNames by code, for `{name}` of swatches
 * @throws Problem `file-names-collide`, `file-name-empty`, `file-name-too-long`, `name-field-missing`, `invalid-gtin`
 */
export function planPictureSet(
  set: PictureSet,
  product: SetProduct,
  variants: readonly SetVariant[],
  finishNames: ReadonlyMap<string, string> = new Map(),
): PictureSetPlan {
  const { subject } = set;
  const fits = (view: ShotView) => isNamedView(view) || product.closeViews.includes(view.slice('slot:'.length));
  const shots: readonly Shot[] =
    subject.kind === 'variants'
      ? variants.flatMap((variant) => listVariantShots(product, variant, subject.views.filter(fits)))
      : listFinishShots(product, variants, subject.swatches, finishNames);
  const sizes = listFrameSizes(set.frame);
  const total = shots.length * sizes.length;
  const parts = readNameTemplate(set.names, '/names');
  const pictures = shots.flatMap((shot, i) =>
    sizes.flatMap((size, j) => {
      const index = String(i * sizes.length + j + 1).padStart(String(total).length, '0');
      return planShot(set, parts, shot, size, index);
    }),
  );
  refuseCollisions(pictures);
  return { pictures, leftOut: subject.kind === 'variants' ? subject.views.filter((view) => !fits(view)) : [] };
}

/** One subject of a picture, at any size. */
interface Shot {
  readonly what: string;
  readonly of: PictureKey['of'];
  readonly view: PictureKey['view'];
  readonly variant: string | null;
  readonly gtin: string | null;
  readonly values: Readonly<Partial<Record<NameField, string>>>;
}

function listVariantShots(product: SetProduct, variant: SetVariant, views: readonly ShotView[]): Shot[] {
  const { code, name, choices } = variant;
  const what = `variant ${code}`;
  const gtin = variant.gtin === undefined ? null : readGtin(variant.gtin, `the GTIN of ${what}`);
  const finishes = new Set(listVisibleFinishes(product, choices));
  const values = { ...valuesOf(product), variant: code, name, finish: [...finishes].join('-'), ...(gtin && { gtin }) };
  return views.map((view) => ({
    what,
    of: { choices },
    view,
    variant: code,
    gtin,
    values: { ...values, view: view.replace(':', '-') },
  }));
}

function listFinishShots(
  product: SetProduct,
  variants: readonly SetVariant[],
  swatches: readonly SwatchKind[],
  names: ReadonlyMap<string, string>,
): Shot[] {
  const finishes = new Set(variants.flatMap(({ choices }) => listVisibleFinishes(product, choices)));
  return [...finishes].flatMap((finish) =>
    swatches.map((view) => ({
      what: `finish ${finish}`,
      of: { finish },
      view,
      variant: null,
      gtin: null,
      values: { ...valuesOf(product), finish, name: names.get(finish) ?? finish, view },
    })),
  );
}

/** Visible finishes, in the order of the product's slots. */
function listVisibleFinishes({ slots }: SetProduct, choices: Readonly<Record<string, string>>): string[] {
  return slots.flatMap((slot) => choiceOf(choices, slot) ?? []);
}

const valuesOf = ({ product, line }: SetProduct) => ({ product, ...(line !== null && { line }) });

function planShot(
  set: PictureSet,
  parts: readonly NamePart[],
  { what, of, view, variant, gtin, values }: Shot,
  { widthPx, heightPx, bleedPx }: FrameSize,
  index: string,
): PlannedPicture[] {
  const { format, frame, ground, fill, scale, shadow } = set;
  const size = widthPx === heightPx ? String(widthPx) : `${widthPx}x${heightPx}`;
  const gs1 = set.gs1Names && gtin ? nameByGs1(gtin, view as ShotView, Math.max(widthPx, heightPx)) : null;
  const stem = gs1 ?? fillNameTemplate(parts, { ...values, size, format, index }, what);
  const common = {
    namedBy: gs1 ? ('gs1' as const) : ('template' as const),
    variant,
    of,
    view,
    widthPx,
    heightPx,
    bleedPx,
    ppi: isPrinted(frame) ? frame.ppi : null,
    format,
    quality: set.quality ?? null,
    fill,
    scale,
  };
  const nameOf = (mark: string) => toFileName(stem + mark, FORMAT_ENDINGS[format]);
  const layer = shadow === 'with' ? 'whole' : 'bare';
  const picture: PlannedPicture = { ...common, fileName: nameOf(''), ground, layer };
  if (shadow !== 'separate') return [picture];
  return [picture, { ...common, fileName: nameOf(SHADOW_MARK), ground: 'transparent', layer: 'shadow' }];
}

function refuseCollisions(pictures: readonly PlannedPicture[]): void {
  const collisions = listCollisions(pictures, ({ fileName }) => fileName);
  const [first] = collisions;
  if (!first) return;
  const [a, b] = first.items.map(describe);
  const { byGs1, byTemplate } = PICTURE_SET_PROBLEMS['file-names-collide'];
  const formatDetail = first.items[1].namedBy === 'gs1' ? byGs1 : byTemplate;
  throw new Problem('file-names-collide', {
    detail: formatDetail(a!, b!, first.name, collisions.length - 1),
    received: first.name,
    findings: collisions.slice(0, MOST_NAMED).map(({ name, items }) => ({ name, pictures: items.map(describe) })),
  });
}

function describe({ variant, of, view, widthPx, heightPx, layer }: PlannedPicture): string {
  const what = 'finish' in of ? `finish ${of.finish}` : `variant ${variant}`;
  return `${what}, ${view}, ${widthPx} × ${heightPx} px${layer === 'shadow' ? ', its shadow' : ''}`;
}

/** What a set leaves out of a product, or names differently than requested. */
export function listSetFindings(
  set: PictureSet,
  { product, closeViews }: SetProduct,
  variants: readonly SetVariant[],
  { leftOut }: PictureSetPlan,
): Finding[] {
  const views = leftOut.map((view) => {
    const slot = view.slice('slot:'.length);
    return makeFinding(
      'view-left-out',
      { product, slot, views: closeViews },
      {
        where: `views/${view}`,
        place: slot,
        seen: view,
        expected: closeViews.map((key) => `slot:${key}`),
      },
    );
  });
  const unnumbered = set.gs1Names ? variants.filter(({ gtin }) => gtin === undefined).map(({ code }) => code) : [];
  // A product with no GTIN at all is not sold under GTINs.
  if (unnumbered.length === 0 || unnumbered.length === variants.length) return views;
  const named = unnumbered.slice(0, MOST_NAMED).join(', ');
  const more = unnumbered.length > MOST_NAMED ? ` and ${unnumbered.length - MOST_NAMED} more` : '';
  return [
    ...views,
    makeFinding(
      'variant-without-gtin',
      { variants: unnumbered.slice(0, MOST_NAMED), more: Math.max(0, unnumbered.length - MOST_NAMED) },
      {
        where: 'schedule',
        place: named + more,
        seen: unnumbered.slice(0, MOST_NAMED),
        expected: 'a GTIN',
      },
    ),
  ];
}
