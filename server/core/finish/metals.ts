import type { LinearRgb } from '../colour/srgb.ts';

/** Sources of the table's rows. */
export const METAL_SOURCES = {
  khronos: 'Khronos 3D Commerce Asset Creation Guidelines v1.0.0, linear column',
  unity: 'Unity Shader Graph documentation',
  physicallybased: 'physicallybased.info v2.1',
} as const;
type MetalSource = keyof typeof METAL_SOURCES;

interface Row {
  /** Reflectance at normal incidence as published: linear BT.709. */
  readonly published: LinearRgb;
  readonly source: MetalSource;
  /** A second published value, to show how much sources differ. As published, a channel may exceed 1. */
  readonly second?: LinearRgb;
}

/**
 * Colours of bare metals: reflectance at normal incidence (F0), which is a metal's base colour in glTF. Linear BT.709.
 * The values come from the published linear columns, not from the 8-bit ones beside them, which use a gamma of 2.2
 * instead of sRGB's curve. `second` is physicallybased.info v2.1 throughout. Sources differ by up to 0.15 in a channel
 * (chromium's blue), so all finishes are compared with this one table.
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

/** Other names for metals of the table. */
const ALIASES: Readonly<Record<string, MetalName>> = {
  aluminum: 'aluminium',
  chrome: 'chromium',
  inox: 'stainless-steel',
  stainless: 'stainless-steel',
};

/** A metal with values that glTF can hold. */
export interface Metal {
  readonly metal: MetalName;
  /** Linear BT.709, each channel 0–1: valid for `baseColorFactor`. */
  readonly f0: LinearRgb;
  /** Channels published above 1, outside sRGB, and clipped. */
  readonly clamped: readonly ('red' | 'green' | 'blue')[];
  readonly source: MetalSource;
  /** The second published value, clipped like the first; null with one source only. */
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

/** Finds a metal of the table by its name or its usual other names, ignoring case, with spaces or hyphens. */
export function findMetal(name: string): Metal | undefined {
  const key = name.trim().toLowerCase().replace(/\s+/g, '-');
  if (Object.hasOwn(METALS, key)) return METALS[key as MetalName];
  return Object.hasOwn(ALIASES, key) ? METALS[ALIASES[key]!] : undefined;
}

/**
 * Clips a reflectance to the range of `baseColorFactor`, 0–1, and names the clipped channels. Gold's red is 1.059 in
 * BT.709: gold is slightly outside sRGB, and a validator rejects the number.
 */
export function clampF0(published: LinearRgb): { readonly f0: LinearRgb; readonly clamped: Metal['clamped'] } {
  const [r, g, b] = published;
  return {
    f0: [Math.min(1, r), Math.min(1, g), Math.min(1, b)],
    clamped: (['red', 'green', 'blue'] as const).filter((_, channel) => published[channel]! > 1),
  };
}
