import { decodeSrgb, linearToHex } from '../../../core/colour/srgb.ts';
import type { Piece } from '../../../core/product/survey.ts';
import { type Pixels, readPixels } from '../../../images/image-codec.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { bestSource, compileTransform, readFactors, type TransformUv } from '../../document/read-material.ts';
import { findImageBytes } from '../../document/stored-bytes.ts';
import { listTriangles } from '../list-triangles.ts';
import type { FoundPieces } from './find-pieces.ts';

/** A mean needs no more texels than this along a side. */
const SAMPLED_PX = 512;
/** Most triangles sampled of one primitive; of more triangles, every n-th is sampled. */
const SAMPLED_TRIANGLES = 100_000;
/** Where a triangle is sampled: at its centre, and half-way to each corner. */
const SPOTS = [
  [1 / 3, 1 / 3],
  [2 / 3, 1 / 6],
  [1 / 6, 2 / 3],
  [1 / 6, 1 / 6],
] as const;

const LINEAR = Float32Array.from({ length: 256 }, (_, code) => decodeSrgb(code / 255));

/**
 * Measures the colour of each piece: the mean of its colour map under its UVs, in linear light and weighted by area, times
 * the factor. Pieces of materials without a colour map, or without UVs, keep `hex` null.
 */
export async function colourPieces(model: LoadedModel, { pieces, parts }: FoundPieces): Promise<Piece[]> {
  const { json } = model;
  const sums = new Float64Array(pieces.length * 4);
  const images = new Map<number, Pixels | null>();
  for (const { mesh, primitive: index, pieceOfTriangle } of parts) {
    const primitive = json.meshes![mesh]!.primitives[index]!;
    const texture = json.materials?.[primitive.material ?? -1]?.pbrMetallicRoughness?.baseColorTexture;
    const transform = texture?.extensions?.KHR_texture_transform;
    const uvAccessor =
      primitive.attributes[`TEXCOORD_${(transform?.texCoord as number | undefined) ?? texture?.texCoord ?? 0}`];
    const image = texture ? bestSource(json.textures![texture.index]) : null;
    if (!texture || image === null || uvAccessor === undefined) continue;
    let pixels = images.get(image);
    if (pixels === undefined) {
      const bytes = findImageBytes(model, image);
      pixels = bytes && (await readPixels(bytes, SAMPLED_PX).catch(() => null));
      images.set(image, pixels);
    }
    const uvs = readAccessor(model, uvAccessor);
    const positions = readAccessor(model, primitive.attributes.POSITION!);
    const triangles = listTriangles(model, primitive);
    if (!pixels || !uvs || !positions || !triangles) continue;
    sample({ pixels, uvs, positions, triangles, transform: compileTransform(transform), pieceOfTriangle, sums });
  }
  return pieces.map((piece, index) => {
    const area = sums[index * 4 + 3]!;
    if (!(area > 0)) return piece;
    const { baseColor } = readFactors(json.materials![piece.material!]!);
    const mean = (channel: number) => Math.min(1, (sums[index * 4 + channel]! / area) * baseColor[channel]!);
    return { ...piece, hex: linearToHex([mean(0), mean(1), mean(2)]) };
  });
}

interface Sampling {
  readonly pixels: Pixels;
  readonly uvs: Float32Array;
  readonly positions: Float32Array;
  readonly triangles: Uint32Array;
  readonly transform: TransformUv;
  readonly pieceOfTriangle: Int32Array;
  /** Red, green, blue and weight of every piece. */
  readonly sums: Float64Array;
}

function sample({ pixels, uvs, positions: p, triangles, transform, pieceOfTriangle, sums }: Sampling): void {
  const { data, channels, widthPx: width, heightPx: height } = pixels;
  const count = pieceOfTriangle.length;
  const stride = Math.max(1, Math.ceil(count / SAMPLED_TRIANGLES));
  for (let t = 0; t < count; t++) {
    const piece = pieceOfTriangle[t]!;
    // the first triangle of every piece counts in any case
    if (piece < 0 || (t % stride !== 0 && sums[piece * 4 + 3]! > 0)) continue;
    const a = triangles[t * 3]!;
    const b = triangles[t * 3 + 1]!;
    const c = triangles[t * 3 + 2]!;
    const weight = areaOf(p, a, b, c) / SPOTS.length;
    if (!(weight > 0)) continue;
    for (const [s, r] of SPOTS) {
      const q = 1 - s - r;
      const [u, v] = transform(
        uvs[a * 2]! * s + uvs[b * 2]! * r + uvs[c * 2]! * q,
        uvs[a * 2 + 1]! * s + uvs[b * 2 + 1]! * r + uvs[c * 2 + 1]! * q,
      );
      const x = Math.min(width - 1, Math.floor((u - Math.floor(u)) * width));
      const y = Math.min(height - 1, Math.floor((v - Math.floor(v)) * height));
      if (!(x >= 0 && y >= 0)) continue;
      const at = (y * width + x) * channels;
      for (let channel = 0; channel < 3; channel++) {
        sums[piece * 4 + channel]! += LINEAR[data[at + channel]!]! * weight;
      }
      sums[piece * 4 + 3]! += weight;
    }
  }
}

function areaOf(p: Float32Array, a: number, b: number, c: number): number {
  const ux = p[b * 3]! - p[a * 3]!;
  const uy = p[b * 3 + 1]! - p[a * 3 + 1]!;
  const uz = p[b * 3 + 2]! - p[a * 3 + 2]!;
  const vx = p[c * 3]! - p[a * 3]!;
  const vy = p[c * 3 + 1]! - p[a * 3 + 1]!;
  const vz = p[c * 3 + 2]! - p[a * 3 + 2]!;
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx) / 2;
}
