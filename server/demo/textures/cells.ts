import { makeRandom, wrap } from './noise.ts';

/** Cells round scattered points (Worley), repeating at the edges. Distances are in cells. */
export interface Cells {
  readonly width: number;
  readonly height: number;
  /** Distance to the nearest point and to the next. */
  readonly first: Float32Array;
  readonly second: Float32Array;
  /** Which cell a pixel is in. */
  readonly id: Uint16Array;
}

export function makeCells(width: number, height: number, across: number, down: number, seed: number): Cells {
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
