import { type Finding, makeFinding } from '../product/finding.ts';
import type { PictureSet } from './picture-set.ts';
import type { PictureSetPlan, SetProduct, SetVariant } from './plan-picture-set.ts';

/** Variants that are named one by one. */
const MOST_NAMED = 20;

/** What a set leaves out of a product, or names otherwise than it was asked to. */
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
  // a product without any is not sold under GTINs
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
