import sharp from 'sharp';

/** A direction in tangent space: x right, y up, z out of the surface. */
export type Normal = readonly [x: number, y: number, z: number];

/** A unit normal of a surface with these slopes to the right and upwards. */
export function normalOf(right: number, up: number): Normal {
  const length = Math.hypot(right, up, 1);
  return [-right / length, -up / length, 1 / length];
}

/** A tangent-space normal map; `at` gives the normal at the centre of every texel, u to the right and v down, 0–1. */
export async function makeNormalPng(
  [widthPx, heightPx]: readonly [number, number],
  at: (u: number, v: number) => Normal,
): Promise<Uint8Array> {
  const data = Buffer.alloc(widthPx * heightPx * 3);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      at((x + 0.5) / widthPx, (y + 0.5) / heightPx).forEach((component, c) => {
        data[(y * widthPx + x) * 3 + c] = Math.round((component + 1) * 127.5);
      });
    }
  }
  const raw = { width: widthPx, height: heightPx, channels: 3 } as const;
  return new Uint8Array(await sharp(data, { raw }).png().toBuffer());
}

export const makeFlatPng = (): Promise<Uint8Array> => makeNormalPng([4, 4], () => [0, 0, 1]);
