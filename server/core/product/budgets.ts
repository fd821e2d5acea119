/** What a file may weigh or hold: beyond `recommended` is a note, beyond `maximum` a warning. */
export interface Limit {
  readonly recommended: number;
  /** Null where no source states one: then going beyond the recommendation stays a note. */
  readonly maximum: number | null;
}

/** A profile a model is held against. */
export interface Budget {
  /** By which products refer to it: `[a-z0-9-]{1,64}`. */
  readonly name: string;
  readonly label: string;
  /** Where the figures come from, in words. */
  readonly source: string;
  readonly fileBytes: Limit;
  /** Triangles in the scene, instances counted. */
  readonly triangles: Limit;
  /** Draws of the scene, instances counted. */
  readonly draws: Limit;
  /** Longest side of any image, px. It is a maximum, since a larger image is easily brought down to it. */
  readonly texturePx: number;
  /** Quality, 1–100, below which a JPEG is remarked on. */
  readonly jpegQuality: number;
}

/** Megabytes are decimal: of two readings of “MB” the one that keeps a file inside the limit either way. */
const MB = 1_000_000;

/** JPEG quality in the trade (common practice): 80–90 for the web, 90–100 for masters. */
const WEB_JPEG = 80;
const MASTER_JPEG = 90;

/**
 * The budgets that are built in.
 *
 * The Khronos guidelines contradict themselves: their summary says 5 MB and 100,000 triangles, their table of publishing
 * targets 3 MB and 150,000 for “mobile AR / 3D web catalogue”. The table is taken, since it is the only place that tells
 * one target from another, and its 3 MB agrees with the document's own aim of three seconds at 10 Mb/s (3.75 MB). Only
 * draws have a maximum there; sizes and triangles are aims.
 */
export const BUDGETS: readonly Budget[] = [
  {
    name: 'web-catalogue',
    label: 'Web catalogue',
    source:
      'Khronos 3D Commerce Asset Creation Guidelines 1.0 (2020), publishing targets, row “Mobile AR / 3D web catalogue”: 3 MB, 150,000 triangles, under 20 draws and 500 at most, 2K textures. The summary of the same document says 5 MB and 100,000 triangles; the row is taken because it is made for this use.',
    fileBytes: { recommended: 3 * MB, maximum: null },
    triangles: { recommended: 150_000, maximum: null },
    draws: { recommended: 20, maximum: 500 },
    texturePx: 2048,
    jpegQuality: WEB_JPEG,
  },
  {
    name: 'ar',
    label: 'AR and shopping feeds',
    source:
      'Google Merchant Center, attribute virtual_model_link: 10 MB recommended, 15 MB at most, textures up to 2K (one version of the page says 4K is not supported). Triangles and draws, which it does not state: Khronos 3D Commerce Asset Creation Guidelines 1.0, row “Mobile AR / 3D web catalogue”.',
    fileBytes: { recommended: 10 * MB, maximum: 15 * MB },
    triangles: { recommended: 150_000, maximum: null },
    draws: { recommended: 20, maximum: 500 },
    texturePx: 2048,
    jpegQuality: WEB_JPEG,
  },
  {
    name: 'print',
    label: 'Print and large pictures',
    source:
      'No published source: judgement. A still picture waits for its model, so the limits only keep a model within what one graphics card holds: 8192 px textures, 2 million triangles. JPEG of 90 and more is common practice for masters.',
    fileBytes: { recommended: 100 * MB, maximum: 300 * MB },
    triangles: { recommended: 2_000_000, maximum: null },
    draws: { recommended: 200, maximum: 2000 },
    texturePx: 8192,
    jpegQuality: MASTER_JPEG,
  },
];

export const DEFAULT_BUDGET = 'web-catalogue';

/** A budget by its name, a studio's own before the built-in ones; undefined when neither knows it. */
export function findBudget(name: string, own: readonly Budget[] = []): Budget | undefined {
  return [...own, ...BUDGETS].find((budget) => budget.name === name);
}
