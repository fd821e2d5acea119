import type { IEncodeOptions } from 'ktx2-encoder';
import type { Pixels } from './image-codec.ts';

/** Texels that the encoder takes at most: 12 Mi. */
export const KTX2_TEXELS = 12 * 1024 * 1024;

export interface Ktx2Options {
  /** ETC1S is small and for colour; UASTC is exact enough for normals and data, and larger. */
  readonly mode: 'etc1s' | 'uastc';
  /** Colour in sRGB; otherwise plain numbers. */
  readonly isColour: boolean;
}

/** Of 255: visibly the same on cloth and wood at half the bytes of the highest. */
const ETC1S_QUALITY = 160;

/** The encoder for Node. The package declares only the types of that for browsers. */
interface BasisEncoder {
  init(): Promise<unknown>;
  encode(image: Uint8Array, options: IEncodeOptions): Promise<Uint8Array>;
}

let encoder: Promise<BasisEncoder> | null = null;

/**
 * Encodes an image as KTX2 with all mip levels, by Basis Universal in WebAssembly. Width and height must be multiples of 4
 * (`KHR_texture_basisu`). It takes about 5 s for 1024 × 1024 texels, in the thread that calls it.
 */
export async function encodeKtx2({ data, widthPx, heightPx, channels }: Pixels, options: Ktx2Options): Promise<Buffer> {
  encoder ??= openEncoder();
  const rgba = channels === 4 ? new Uint8Array(data) : addAlpha(data);
  const isUastc = options.mode === 'uastc';
  const bytes = await (await encoder).encode(new Uint8Array(1), {
    isKTX2File: true,
    isUASTC: isUastc,
    isPerceptual: options.isColour,
    isSetKTX2SRGBTransferFunc: options.isColour,
    generateMipmap: true,
    ...(isUastc
      ? { uastcLDRQualityLevel: 1, needSupercompression: true }
      : { qualityLevel: ETC1S_QUALITY, compressionLevel: 1 }),
    imageDecoder: async () => ({ width: widthPx, height: heightPx, data: rgba }),
  });
  return Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** The encoder reports each step on the console, which it takes over when it starts. */
async function openEncoder(): Promise<BasisEncoder> {
  const { NodeBasisEncoder } = (await import('ktx2-encoder')) as unknown as {
    NodeBasisEncoder: new () => BasisEncoder;
  };
  const { log } = console;
  console.log = () => undefined;
  try {
    const opened = new NodeBasisEncoder();
    await opened.init();
    return opened;
  } finally {
    console.log = log;
  }
}

function addAlpha(data: Buffer): Uint8Array {
  const out = new Uint8Array((data.length / 3) * 4).fill(255);
  for (let from = 0, to = 0; from < data.length; from += 3, to += 4) {
    out[to] = data[from]!;
    out[to + 1] = data[from + 1]!;
    out[to + 2] = data[from + 2]!;
  }
  return out;
}
