import { decodeSrgb } from '../core/colour/srgb.ts';

/** Linear light, 0–1, of every 8-bit sRGB code. */
export const LINEAR_CODES: Float64Array = Float64Array.from({ length: 256 }, (_, code) => decodeSrgb(code / 255));
