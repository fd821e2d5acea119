import { foldCode } from '../core/codes.ts';
import type { PictureSet } from '../core/picture/picture-set.ts';
import {
  listSetFindings,
  type PlannedPicture,
  planPictureSet,
  type SetProduct,
} from '../core/picture/plan-picture-set.ts';
import type { StoredBytes } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Finding } from '../core/product/finding.ts';
import { choiceOf, type Variant } from '../core/schedule/schedule.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';
import { findSetFile, listShownSlots } from './find-set-file.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireModel, requireSchedule, unknownVariant } from './loaded-product.ts';
import { findSet } from './picture-sets.ts';
import type { Picture } from './take-picture.ts';

/** A file of a set, and the variant it shows; null for swatches. */
export interface NamedFile {
  readonly picture: PlannedPicture;
  readonly variant: Variant | null;
}

/** The files of a set for one product. */
export interface ProductSet {
  readonly loaded: LoadedProduct;
  readonly set: PictureSet;
  readonly files: readonly NamedFile[];
  readonly findings: readonly Finding[];
}

/**
 * Plans the files of a set for a product. File names follow from the whole schedule, even if the caller asks only for some
 * variants.
 * @param only codes of the variants whose files to list. Default: all
 * @throws Problem `unknown-product`, `unknown-picture-set`, `no-model`, `no-schedule`, `unknown-variant`, and as
 *   `planPictureSet`
 */
export async function planProductSet(
  context: Context,
  product: string,
  code: string,
  only?: readonly string[],
): Promise<ProductSet> {
  const [loaded, { set }] = await Promise.all([loadProduct(context, product), findSet(context, code)]);
  requireModel(loaded);
  const { variants } = requireSchedule(loaded);
  const byCode = new Map(variants.map((variant) => [foldCode(variant.code), variant]));
  const wanted = only?.map((each) => {
    const variant = byCode.get(foldCode(each));
    if (!variant) throw unknownVariant(loaded.product, each);
    return variant;
  });
  const pictured = toSetProduct(loaded);
  const names = new Map(loaded.finishes.finishes.map(({ finish, name }) => [finish, name]));
  const plan = planPictureSet(set, pictured, variants, names);
  const files = plan.pictures.map(
    (picture): NamedFile => ({
      picture,
      variant: picture.variant === null ? null : byCode.get(foldCode(picture.variant))!,
    }),
  );
  return {
    loaded,
    set,
    files: wanted ? files.filter(makeFilter(pictured, wanted)) : files,
    findings: listSetFindings(set, pictured, variants, plan),
  };
}

function toSetProduct(loaded: LoadedProduct): SetProduct {
  return {
    product: loaded.product.code,
    line: loaded.line?.line ?? null,
    slots: listShownSlots(loaded).map(({ slot }) => slot),
    closeViews: loaded.slots.filter(({ primitives }) => primitives.length > 0).map(({ slot }) => slot),
  };
}

/** Selects the files of these variants, or of the finishes that they use. */
function makeFilter({ slots }: SetProduct, wanted: readonly Variant[]): (file: NamedFile) => boolean {
  const variants = new Set(wanted);
  const used = new Set(wanted.flatMap(({ choices }) => slots.flatMap((slot) => choiceOf(choices, slot) ?? [])));
  return ({ picture: { of }, variant }) => ('finish' in of ? used.has(of.finish) : variants.has(variant!));
}

/** A file, and its stored bytes; null if it does not exist yet. */
export interface LocatedFile extends NamedFile {
  readonly held: StoredBytes | null;
}

/** Files per turn of the event loop: each takes about a quarter of a millisecond, mostly for digests. */
const FILES_PER_TURN = 25;

/**
 * Looks up which files exist, without making or reading one.
 * @throws Problem `picture-nothing-to-see`
 */
export async function locateFiles(context: Context, { loaded, files }: ProductSet): Promise<readonly LocatedFile[]> {
  const keys: string[] = [];
  for (const [i, { picture, variant }] of files.entries()) {
    keys.push((await findSetFile(context, loaded, picture, variant)).key);
    if (i % FILES_PER_TURN === FILES_PER_TURN - 1) await new Promise<void>((resolve) => setTimeout(resolve));
  }
  const held = await context.pictures.listHeld(keys);
  return files.map((file, i) => ({ ...file, held: held.get(keys[i]!) ?? null }));
}

/**
 * Sorts files by view, then by size. The studio computes the light of a view once, and keeps it until the view changes.
 */
export function sortByView<File extends NamedFile>({ subject }: PictureSet, files: readonly File[]): readonly File[] {
  const views: readonly string[] = subject.kind === 'variants' ? subject.views : subject.swatches;
  return [...files].sort(
    ({ picture: a }, { picture: b }) =>
      views.indexOf(a.view) - views.indexOf(b.view) || a.widthPx * a.heightPx - b.widthPx * b.heightPx,
  );
}

export async function takeNamed(
  context: Context,
  { loaded }: ProductSet,
  { picture, variant }: NamedFile,
): Promise<Picture> {
  return (await findSetFile(context, loaded, picture, variant)).take();
}

/**
 * Takes one file of a set by its name, and makes it if it does not exist.
 * @throws Problem `unknown-set-file`, and as `planProductSet` and `findSetFile`
 */
export async function takeSetFile(context: Context, product: string, code: string, name: string): Promise<Picture> {
  const planned = await planProductSet(context, product, code);
  const file = planned.files.find(({ picture }) => picture.fileName === name);
  if (file) return takeNamed(context, planned, file);
  throw new Problem('unknown-set-file', {
    detail: PICTURE_PROBLEMS['unknown-set-file'](planned.loaded.product.code, planned.set.code, name.slice(0, 150)),
    received: name.slice(0, 150),
  });
}
