import { toMm } from '../core/picture/picture-set.ts';
import { Problem } from '../core/problems.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';
import { findSetFile, listShownSlots } from './find-set-file.ts';
import { type NamedFile, type ProductSet, planProductSet, sortByView } from './plan-product-set.ts';
import { retryWhileBusy } from './retry-while-busy.ts';
import type { Picture } from './take-picture.ts';
import { writeCsv } from './write-csv.ts';

export interface SetFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** The list of what is in it. */
const LIST_NAME = 'files.csv';

/**
 * All files of a set, made as they are asked for, and a list of them at the end.
 * @throws Problem as `planProductSet` at once; `renderer-…` where a picture fails
 */
export async function listSetFiles(
  context: Context,
  product: string,
  code: string,
  variants?: readonly string[],
): Promise<AsyncGenerator<SetFile>> {
  const planned = await planProductSet(context, product, code, variants);
  return (async function* () {
    const digests = new Map<NamedFile, string>();
    for (const file of sortByView(planned.set, planned.files)) {
      const { bytes, sha256 } = await retryWhileBusy(() => takeNamed(context, planned, file));
      digests.set(file, sha256);
      yield { name: file.picture.fileName, bytes };
    }
    yield { name: LIST_NAME, bytes: new TextEncoder().encode(writeList(planned, digests)) };
  })();
}

async function takeNamed(context: Context, { loaded }: ProductSet, { picture, variant }: NamedFile): Promise<Picture> {
  return (await findSetFile(context, loaded, picture, variant)).take();
}

/**
 * One file of a set, made if it is not there.
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

function writeList({ loaded, files }: ProductSet, digests: ReadonlyMap<NamedFile, string>): string {
  const shown = listShownSlots(loaded);
  const header = ['name', 'product', 'variant', 'finishes', 'view', 'layer', 'widthPx', 'heightPx', 'ppi', 'widthMm'];
  return writeCsv(
    [...header, 'heightMm', 'bleedMm', 'sha256'],
    files.map((file) => {
      const { fileName, variant, of, view, layer, widthPx, heightPx, bleedPx, ppi } = file.picture;
      const finishes =
        'finish' in of
          ? [of.finish]
          : shown.flatMap(({ slot }) => {
              const finish = choiceOf(of.choices, slot);
              return finish === undefined ? [] : [`${slot}:${finish}`];
            });
      const mm = (px: number) => (ppi === null ? null : toMm(px, ppi));
      const sizes = [widthPx, heightPx, ppi, mm(widthPx), mm(heightPx), mm(bleedPx)];
      const what = [fileName, loaded.product.code, variant, finishes.join(' '), view, layer];
      return [...what, ...sizes, digests.get(file)!];
    }),
  );
}
