/** Where a product is in its picture, as shares of the picture's sides, 0–1 from the left and from the top. */
export interface Extent {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A pixel belongs to the product from this alpha on: contact shadows stay below it. Glass does too, and is missed. */
const SOLID = 235;

/** Rows and columns with fewer solid pixels are noise. */
const FEWEST = 2;

/** Finds a product in straight RGBA; null without solid pixels. */
export function findExtent(rgba: Uint8ClampedArray, width: number, height: number): Extent | null {
  const columns = new Uint32Array(width);
  const rows = new Uint32Array(height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      if (rgba[(y * width + x) * 4 + 3]! < SOLID) continue;
      columns[x]!++;
      rows[y]!++;
    }
  }
  const isSolid = (n: number) => n >= FEWEST;
  const left = columns.findIndex(isSolid);
  const top = rows.findIndex(isSolid);
  if (left < 0 || top < 0) return null;
  return {
    left: left / width,
    right: (columns.findLastIndex(isSolid) + 1) / width,
    top: top / height,
    bottom: (rows.findLastIndex(isSolid) + 1) / height,
  };
}

/** Finds the product in a loaded image. */
export function measureImage(image: HTMLImageElement): Extent | null {
  const { naturalWidth: width, naturalHeight: height } = image;
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (!context || width === 0) return null;
  context.drawImage(image, 0, 0);
  return findExtent(context.getImageData(0, 0, width, height).data, width, height);
}
