import { clamp01, type Field, makeField, makeNoise, makeRandom, smoothstep, wrap } from './field.ts';

/** Pebbled grain of a full-grain hide: rounded cells with creases between them. Relief in mm. */
export function makeHide(size: number, tileMm: number, seed: number): { relief: Field; tone: Field } {
  const cellsAcross = Math.round(tileMm / 1.25);
  const fine = makeCells(size, size, cellsAcross, cellsAcross, seed);
  const pull = makeNoise(size, size, seed + 1, Math.round(size / 24)).values;
  const relief = makeField(size, size, (x, y) => {
    const i = y * size + x;
    const edge = fine.second[i]! - fine.first[i]!;
    return 0.085 * smoothstep(0, 0.42, edge) * (1 + 0.25 * pull[i]!) + 0.03 * pull[i]!;
  });
  const tone = makeField(size, size, (x, y) => {
    const i = y * size + x;
    const edge = fine.second[i]! - fine.first[i]!;
    return clamp01(0.9 + 0.08 * smoothstep(0, 0.3, edge) + 0.02 * pull[i]!);
  });
  return { relief, tone };
}

/** Terrazzo: chips of several greys in a light base, polished flat. Tone, linear. */
export function makeTerrazzo(size: number, seed: number): Field {
  const random = makeRandom(seed);
  const layers = [9, 17, 31].map((cells, k) => ({
    cells: makeCells(size, size, cells, cells, seed + k * 5),
    shades: Array.from({ length: cells * cells }, () => random()),
    cut: [0.3, 0.26, 0.2][k]!,
  }));
  const cloud = makeNoise(size, size, seed + 40, Math.round(size / 40)).values;
  const grit = makeNoise(size, size, seed + 41, 1).values;
  return makeField(size, size, (x, y) => {
    const i = y * size + x;
    for (const { cells, shades, cut } of layers) {
      const shade = shades[cells.id[i]!]!;
      // Fewer than half of the cells have a chip; the edge of its cell separates a chip from its neighbours.
      if (shade < 0.42 && cells.second[i]! - cells.first[i]! > cut * (0.6 + shade)) {
        const tones = [0.5, 0.97, 0.7, 1, 0.84];
        return tones[Math.floor((shade / 0.42) * tones.length)]! * (0.97 + 0.015 * grit[i]!);
      }
    }
    return 0.93 + 0.012 * cloud[i]! + 0.01 * grit[i]!;
  });
}

/** Hand-made paper: cloudy pulp and long fibres in all directions. Relief in mm and tone. */
export function makePaper(size: number, tileMm: number, seed: number): { relief: Field; tone: Field } {
  const random = makeRandom(seed);
  const fibres = new Float32Array(size * size);
  for (let n = 0; n < 520; n++) {
    let x = random() * size;
    let y = random() * size;
    let heading = random() * 2 * Math.PI;
    const bend = (random() - 0.5) * 0.05;
    const weight = 0.35 + 0.65 * random();
    const steps = Math.round((0.15 + 0.4 * random()) * size * 0.7);
    for (let k = 0; k < steps; k++) {
      heading += bend + (random() - 0.5) * 0.06;
      x += Math.cos(heading);
      y += Math.sin(heading);
      const at = wrap(Math.round(y), size) * size + wrap(Math.round(x), size);
      fibres[at] = Math.max(fibres[at]!, weight);
    }
  }
  const cloud = makeNoise(size, size, seed + 1, Math.round(size / 30)).values;
  const tooth = makeNoise(size, size, seed + 2, 1).values;
  const relief = makeField(size, size, (x, y) => {
    const i = y * size + x;
    const right = fibres[y * size + wrap(x + 1, size)]!;
    const below = fibres[wrap(y + 1, size) * size + x]!;
    return (0.03 * (fibres[i]! + 0.5 * right + 0.5 * below) + 0.014 * cloud[i]! + 0.006 * tooth[i]!) * (tileMm / 120);
  });
  const tone = makeField(size, size, (x, y) => {
    const i = y * size + x;
    return clamp01(0.9 + 0.025 * cloud[i]! + 0.01 * tooth[i]! + 0.07 * fibres[i]!);
  });
  return { relief, tone };
}

/** Fine scratches along U, as from a lathe or a belt. Relief in mm and roughness (1 = the finish's own roughness). */
export function makeBrushed(size: number, seed: number): { relief: Field; roughness: Field } {
  const fine = makeNoise(size, size, seed, Math.round(size / 8), 0).values;
  const broad = makeNoise(size, size, seed + 1, Math.round(size / 5), 3).values;
  return {
    relief: makeField(size, size, (x, y) => 0.0022 * fine[y * size + x]! + 0.0016 * broad[y * size + x]!),
    roughness: makeField(size, size, (x, y) => 0.82 + 0.06 * broad[y * size + x]! + 0.03 * fine[y * size + x]!),
  };
}

/** Powder melts into soft bumps; in fine texture they are about a millimetre apart. Relief in mm. */
export function makePowder(size: number, seed: number): Field {
  const hills = makeNoise(size, size, seed, 2).values;
  const swell = makeNoise(size, size, seed + 1, 7).values;
  return makeField(size, size, (x, y) => 0.011 * hills[y * size + x]! + 0.006 * swell[y * size + x]!);
}

/** A glaze that broke into clouds and specks in the kiln. Tone, and long waves in mm. */
export function makeGlaze(size: number, seed: number): { tone: Field; relief: Field } {
  const cloud = makeNoise(size, size, seed, Math.round(size / 22)).values;
  const drift = makeNoise(size, size, seed + 1, Math.round(size / 60), Math.round(size / 30)).values;
  const speck = makeNoise(size, size, seed + 2, 1).values;
  return {
    tone: makeField(size, size, (x, y) => {
      const i = y * size + x;
      return clamp01(0.92 + 0.03 * cloud[i]! + 0.02 * drift[i]! - 0.3 * smoothstep(2.9, 3.6, speck[i]!));
    }),
    relief: makeField(size, size, (x, y) => 0.05 * cloud[y * size + x]!),
  };
}

/** Cells around scattered points (Worley), repeating at the edges. Distances are in cells. */
interface Cells {
  readonly width: number;
  readonly height: number;
  /** Distance to the nearest point and to the next. */
  readonly first: Float32Array;
  readonly second: Float32Array;
  /** The cell of each pixel. */
  readonly id: Uint16Array;
}

function makeCells(width: number, height: number, across: number, down: number, seed: number): Cells {
  const random = makeRandom(seed);
  const px = new Float32Array(across * down);
  const py = new Float32Array(across * down);
  for (let i = 0; i < px.length; i++) {
    px[i] = random();
    py[i] = random();
  }
  const first = new Float32Array(width * height);
  const second = new Float32Array(width * height);
  const id = new Uint16Array(width * height);
  for (let y = 0; y < height; y++) {
    const gy = (y / height) * down;
    const cy = Math.floor(gy);
    for (let x = 0; x < width; x++) {
      const gx = (x / width) * across;
      const cx = Math.floor(gx);
      let near = 9;
      let next = 9;
      let owner = 0;
      for (let oy = -1; oy <= 1; oy++) {
        const row = wrap(cy + oy, down) * across;
        for (let ox = -1; ox <= 1; ox++) {
          const cell = row + wrap(cx + ox, across);
          const dx = cx + ox + px[cell]! - gx;
          const dy = cy + oy + py[cell]! - gy;
          const d = dx * dx + dy * dy;
          if (d < near) {
            next = near;
            near = d;
            owner = cell;
          } else if (d < next) next = d;
        }
      }
      const i = y * width + x;
      first[i] = Math.sqrt(near);
      second[i] = Math.sqrt(next);
      id[i] = owner;
    }
  }
  return { width, height, first, second, id };
}

interface WoodShape {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Growth rings over the tile's width; a whole number makes the tile seamless. */
  readonly rings: number;
  /** Sideways variation of the rings, in ring widths: 0.3 for quarter-sawn, 1.5 for flat-sawn boards. */
  readonly wander: number;
  /** Darkness of late wood and pores: share of light lost, 0–1. */
  readonly lateWood: number;
  readonly pores: number;
  readonly seed: number;
}

/** Tone of a planed board, grain along V: growth rings, the sheen of the fibres and open pores. Linear, up to 1. */
export function makeWoodGrain(shape: WoodShape): { tone: Field; poreDepth: Field } {
  const { widthPx: w, heightPx: h, rings, wander, seed } = shape;
  const drift = makeNoise(w, h, seed, Math.round(w / 14), Math.round(h / 7)).values;
  const ripple = makeNoise(w, h, seed + 1, Math.round(w / 60), Math.round(h / 14)).values;
  const silk = makeNoise(w, h, seed + 2, 0, Math.round(h / 40)).values;
  const band = makeNoise(w, h, seed + 3, Math.round(w / 9), Math.round(h / 3)).values;
  const vessel = makeNoise(w, h, seed + 4, 0, Math.round(h / 110)).values;
  const late = new Float32Array(w * h);
  const poreDepth = makeField(w, h, (x, y) => {
    const i = y * w + x;
    const ring = (x / w) * rings + wander * drift[i]! + 0.16 * ripple[i]!;
    const phase = ring - Math.floor(ring);
    // Each ring starts slowly and ends dense, with a sharp edge where the next spring begins.
    late[i] = smoothstep(0.15, 0.86, phase) * (1 - smoothstep(0.9, 1, phase));
    // Vessels are widest in the early wood just after that edge.
    const early = 1 - smoothstep(0.05, 0.55, phase) * 0.8;
    return clamp01((vessel[i]! - 1.15) * 0.9) * early;
  });
  const tone = makeField(w, h, (x, y) => {
    const i = y * w + x;
    const base = 1 - shape.lateWood * late[i]! - shape.pores * poreDepth.values[i]!;
    return clamp01(base * (0.93 + 0.028 * silk[i]! + 0.02 * band[i]!));
  });
  return { tone, poreDepth };
}

/** Tints a tone: darker wood is also redder, like tannin. `tint` is linear RGB at tone 0, white at tone 1. */
export function tintTone(tone: Field, tint: readonly [number, number, number]): [Field, Field, Field] {
  const channel = (dark: number): Field => ({
    ...tone,
    values: tone.values.map((t) => t * (dark + (1 - dark) * t)),
  });
  return [channel(tint[0]), channel(tint[1]), channel(tint[2])];
}
