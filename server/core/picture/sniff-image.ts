export type ImageMimeType = 'image/png' | 'image/jpeg' | 'image/webp' | 'image/ktx2';

/** What an image is, by its first bytes; null for anything that is not taken (SVG among them). */
export function sniffImage(bytes: Uint8Array): ImageMimeType | null {
  const starts = (...codes: number[]) => codes.every((code, i) => bytes[i] === code);
  if (starts(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return 'image/png';
  if (starts(0xff, 0xd8, 0xff)) return 'image/jpeg';
  if (starts(0x52, 0x49, 0x46, 0x46) && String.fromCharCode(...bytes.subarray(8, 12)) === 'WEBP') return 'image/webp';
  if (starts(0xab, 0x4b, 0x54, 0x58, 0x20, 0x32, 0x30, 0xbb)) return 'image/ktx2';
  return null;
}
