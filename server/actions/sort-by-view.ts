import type { PictureSet } from '../core/picture/picture-set.ts';
import type { NamedFile } from './plan-product-set.ts';

/**
 * Files in the order they are best made: views, then sizes, change slowest. The studio works out the light of a view once
 * and keeps it for as long as the view stays.
 */
export function sortByView<File extends NamedFile>({ subject }: PictureSet, files: readonly File[]): readonly File[] {
  const views: readonly string[] = subject.kind === 'variants' ? subject.views : subject.swatches;
  return [...files].sort(
    ({ picture: a }, { picture: b }) =>
      views.indexOf(a.view) - views.indexOf(b.view) || a.widthPx * a.heightPx - b.widthPx * b.heightPx,
  );
}
