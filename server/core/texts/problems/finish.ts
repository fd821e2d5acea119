import { count, formatNumber, pick } from '../format-text.ts';
import type { ProblemTexts } from './problem-text.ts';

/** Where a finish is used. */
interface FinishUses {
  readonly schedules: readonly { readonly product: string; readonly variants: number }[];
  readonly lines: readonly string[];
  readonly rules: readonly string[];
}

/** Texts about stored finishes, articles, their images, approvals and history. */
export const FINISH_PROBLEMS = {
  'unknown-finish-code': (code: string) =>
    `There is no finish with the code “${code}”. Check the code against the list of finishes.`,
  'unknown-finish': {
    byCode: (code: string) => `There is no finish with the code “${code}”. Create it first, or correct the code.`,
    deleted: (code: string) =>
      `The finish “${code}” was deleted in the meantime, so this change was not saved. Choose another finish.`,
  },
  'unknown-article': (code: string) => `There is no article “${code}”. Create it first, or leave the article out.`,
  'not-found': {
    article: (code: string) => `There is no article “${code}”. Check the code against the list of articles.`,
    image: 'There is no image with this address. Upload the image first.',
  },
  'unknown-map': 'An image that this finish uses was never uploaded. Upload it first.',
  'unknown-supplied':
    'The supplied material of this finish is not stored. Import the variants of the model again, or leave “supplied” out.',
  'finish-in-use': {
    finish: (code: string, { schedules, lines, rules }: FinishUses) => {
      const uses = [
        ...schedules.map(({ product, variants }) => `schedule of ${product} (${count(variants, 'variant')})`),
        ...lines.map((line) => `range of ${line}`),
        ...rules.map((line) => `rules of ${line}`),
      ];
      return `“${code}” is in use: ${uses.join(', ')}. Remove it there first.`;
    },
    familyOfArticle: (finishes: number, family: string) =>
      `${count(finishes, 'finish', 'finishes')} of this article ${pick(finishes, 'has', 'have')} the family ${family}. Change ${pick(finishes, 'it', 'them')} first, or keep the family.`,
    colourMapOfArticle: (finishes: number, example: string) =>
      finishes === 1
        ? `The finish ${example} takes its colour from the colour map of this article. Give it a colour of its own first, or keep the map.`
        : `${formatNumber(finishes)} finishes, such as ${example}, take their colour from the colour map of this article. Give them colours of their own first, or keep the map.`,
  },
  'stale-finishes': (code: string) =>
    `“${code}” was changed, added or deleted while Dyeworks read the file. Check the preview again, then import.`,
  'unknown-revision': {
    ofFinish: (code: string, revision: number, range: string | null) =>
      `${code} has no revision ${revision}. ${range ? `Its history has revisions ${range}.` : 'Its history is empty.'}`,
  },
  'reason-needed': 'A rejection needs a reason, so that the maker knows what to change. Add one.',
  'image-type': 'A map has to be a PNG, JPEG, WebP or KTX2 file. Export the map in one of these formats.',
  'image-too-large': {
    upload: (widthPx: number, heightPx: number) =>
      `The image has ${widthPx} × ${heightPx} pixels; 8192 × 8192 are allowed. Make it smaller: 2048 px are enough for one repeat.`,
    inModel: (image: number, widthPx: number, heightPx: number) =>
      `Image ${image} of the model has ${widthPx} × ${heightPx} pixels. Make it smaller: 2048 px are enough for a part of a product.`,
  },
  'image-unreadable': {
    profile: 'The colour profile of the image is damaged. Convert the image to sRGB and export it again.',
    stored: 'A stored image is damaged. Upload it again, and save the finish with the new one.',
    damaged: (fault: string) => `The image file is damaged: ${fault}. Export it again.`,
    notMeasured: 'Dyeworks cannot adjust this image because it cannot measure it (KTX2). Ask for it without contrast.',
  },
  'image-colour-model':
    'The image is CMYK, which is meant for print. Maps have to be RGB or grey. Convert the image to sRGB and export it again.',
} as const satisfies ProblemTexts;
