import { FINISH_FINDINGS } from './finish-findings.ts';
import { count } from './format-text.ts';
import { MODEL_FINDINGS } from './model-findings.ts';
import { SCHEDULE_FINDINGS } from './schedule-findings.ts';

/**
 * The message of every finding: what was seen, what was expected, what to do next. Keys are codes of findings; where
 * one code has several messages, a colon separates the code from the case. Checks pass figures and no sentences.
 */
export const FINDING_TEXTS = { ...MODEL_FINDINGS, ...SCHEDULE_FINDINGS, ...FINISH_FINDINGS } as const;

export type FindingText = keyof typeof FINDING_TEXTS;

/** The figures that a message takes; `{}` where it takes none. */
export type FiguresOf<T extends FindingText> =
  Parameters<(typeof FINDING_TEXTS)[T]> extends [infer Figures] ? Figures : Readonly<Record<string, never>>;

export function describeFinding<T extends FindingText>(text: T, figures: FiguresOf<T>): string {
  return (FINDING_TEXTS[text] as (figures: FiguresOf<T>) => string)(figures);
}

/** Messages of findings that have the same cause in several places; each place has its own figures. */
export const GROUPED_FINDINGS: Readonly<Record<string, (places: number) => string>> = {
  'unnamed-material': (n) =>
    `${count(n, 'material')} have no name, so their slots are found again only by their place in the file. Name the materials.`,
  'duplicate-material-name': (n) =>
    `${count(n, 'name')} are used by several materials each. Their slots are numbered in the order of the file, which the next export may change. Rename the materials.`,
  'metal-on-nonmetal': (n) =>
    `${count(n, 'material')} are metallic, but their names, colours or roughness suggest other materials. Set their metalness to 0.`,
  'colour-map-blocks-recolour': (n) =>
    `${count(n, 'material')} have a colour map. A finish replaces it, so anything painted into the map is not shown. To keep a pattern under every finish, convert the map to neutral detail, which removes its hue.`,
  'alpha-in-colour-map': (n) =>
    `${count(n, 'material')} get their shape from the alpha of a colour map. It is kept under every finish.`,
  'animated-material': (n) =>
    `Animations change ${count(n, 'material')}. They still change the materials of the model, but not the finishes on them.`,
  'missing-uv': (n) =>
    `Parts of ${count(n, 'material')} have no UVs, so finishes show their colour and gloss there, but no weave or grain. Export the parts with UVs, or generate box UVs.`,
  'uneven-density': (n) =>
    `${count(n, 'material')} have UVs of uneven density, so one pattern comes out at several sizes. Unwrap the parts at one density, or generate box UVs.`,
  'uv-scale-unknown': (n) =>
    `The size of the UVs of ${count(n, 'material')} cannot be measured, so patterns may come out at the wrong size. Export the parts with UVs that cover them, or generate box UVs.`,
  'uv-overlap': (n) =>
    `${count(n, 'material')} have UVs that overlap. This is right for mirrored or tiled parts, and wrong for maps that are painted or baked for each place.`,
  'uv-stretch': (n) =>
    `${count(n, 'material')} have stretched UVs, so weave and grain come out stretched. Unwrap the parts evenly.`,
  'constant-map': (n) => `${count(n, 'image')} have one colour all over. A factor of the material does the same.`,
  'image-undecodable': (n) =>
    `${count(n, 'image')} cannot be decoded, so parts may be shown without them. Export the model again with intact images.`,
  'implausible-map': (n) =>
    `${count(n, 'map')} do not look like the kind of map they are used as. Check each, and export the wrong ones again.`,
  'texture-quality': (n) =>
    `${count(n, 'JPEG image')} are strongly compressed. Ask for better ones if you can see their blocks.`,
};

/** Added to the message of the first place where a code has no message for several. */
export function describeMorePlaces(places: number): string {
  return `${count(places, 'more place')} ${places === 1 ? 'has a finding' : 'have findings'} of this kind.`;
}
