import type { LinearRgb } from '../colour/srgb.ts';

/** Where a row of the table comes from. */
export const METAL_SOURCES = {
  khronos: 'Khronos 3D Commerce Asset Creation Guidelines v1.0.0, linear column',
  unity: 'Unity Shader Graph documentation',
  physicallybased: 'physicallybased.info v2.1',
} as const;
export type MetalSource = keyof typeof METAL_SOURCES;

interface Row {
  /** Reflectance at normal incidence as published: linear BT.709. */
  readonly published: LinearRgb;
  readonly source: MetalSource;
  /** A second published value, for how far sources are apart; as published, a channel may be above 1. */
  readonly second?: LinearRgb;
}

/**
 * Colours of bare metals: reflectance at normal incidence (F0), which is a metal's base colour in glTF. Linear BT.709.
 * The linear columns are taken, not the 8-bit ones printed beside them: those follow a gamma of 2.2, not sRGB's curve.
 * `second` is physicallybased.info v2.1 throughout. Sources are apart by up to 0.15 in a channel (chromium's blue), so a
 * finish is held against this one table.
 */
const TABLE = {
  iron: { published: [0.56, 0.57, 0.58], source: 'khronos', second: [0.53, 0.513, 0.494] },
  silver: { published: [0.972, 0.96, 0.915], source: 'khronos', second: [0.991, 0.985, 0.974] },
  aluminium: { published: [0.913, 0.921, 0.925], source: 'khronos', second: [0.916, 0.923, 0.924] },
  gold: { published: [1, 0.766, 0.336], source: 'khronos', second: [1.059, 0.773, 0.307] },
  copper: { published: [0.955, 0.637, 0.538], source: 'khronos', second: [0.932, 0.623, 0.522] },
  nickel: { published: [0.66, 0.609, 0.526], source: 'khronos', second: [0.697, 0.641, 0.563] },
  titanium: { published: [0.542, 0.497, 0.449], source: 'khronos', second: [0.441, 0.4, 0.361] },
  cobalt: { published: [0.662, 0.655, 0.634], source: 'khronos' },
  platinum: { published: [0.672, 0.637, 0.585], source: 'khronos', second: [0.765, 0.73, 0.676] },
  chromium: { published: [0.55, 0.556, 0.554], source: 'unity', second: [0.654, 0.685, 0.701] },
  brass: { published: [0.91, 0.778, 0.423], source: 'physicallybased' },
  'stainless-steel': { published: [0.669, 0.639, 0.598], source: 'physicallybased' },
  zinc: { published: [0.808, 0.844, 0.865], source: 'physicallybased' },
} as const satisfies Record<string, Row>;

export type MetalName = keyof typeof TABLE;

/** Other words for metals of the table. */
const ALIASES: Readonly<Record<string, MetalName>> = {
  aluminum: 'aluminium',
  chrome: 'chromium',
  inox: 'stainless-steel',
  stainless: 'stainless-steel',
};

/** A metal as glTF can carry it. */
export interface Metal {
  readonly metal: MetalName;
  /** Linear BT.709, each channel 0–1: fit for `baseColorFactor`. */
  readonly f0: LinearRgb;
  /** Channels that are published above 1, outside sRGB, and were cut to it. */
  readonly clamped: readonly ('red' | 'green' | 'blue')[];
  readonly source: MetalSource;
  /** The second published value, cut like the first; null where there is one source only. */
  readonly second: { readonly f0: LinearRgb; readonly clamped: Metal['clamped'] } | null;
}

export const METAL_NAMES = Object.keys(TABLE) as readonly MetalName[];

/** Every metal of the table, by name. */
export const METALS: Readonly<Record<MetalName, Metal>> = Object.fromEntries(
  METAL_NAMES.map((metal) => {
    const { published, source, second }: Row = TABLE[metal];
    return [metal, { metal, ...clampF0(published), source, second: second ? clampF0(second) : null }];
  }),
) as Record<MetalName, Metal>;

/** The metal of this name in the table, whatever the case, spaces for hyphens, and by its usual other names. */
export function findMetal(name: string): Metal | undefined {
  const key = name.trim().toLowerCase().replace(/\s+/g, '-');
  if (Object.hasOwn(METALS, key)) return METALS[key as MetalName];
  return Object.hasOwn(ALIASES, key) ? METALS[ALIASES[key]!] : undefined;
}

/**
 * Cuts a reflectance to what `baseColorFactor` may hold, 0–1, and says which channels were cut. Gold's red is 1.059 in
 * BT.709: gold is a little outside sRGB, and a validator refuses the number.
 */
export function clampF0(published: LinearRgb): { readonly f0: LinearRgb; readonly clamped: Metal['clamped'] } {
  const [r, g, b] = published;
  return {
    f0: [Math.min(1, r), Math.min(1, g), Math.min(1, b)],
    clamped: (['red', 'green', 'blue'] as const).filter((_, channel) => published[channel]! > 1),
  };
}
