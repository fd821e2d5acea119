/** A piece of a picture that is drawn at once, in pixels from the picture's top left corner. */
export interface Tile {
  readonly left: number;
  readonly top: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** Cuts a picture into tiles of at most `sidePx`, of nearly equal size in whole pixels. */
export function listTiles(widthPx: number, heightPx: number, sidePx: number): readonly Tile[] {
  const columns = cut(widthPx, sidePx);
  return cut(heightPx, sidePx).flatMap(({ from: top, length }) =>
    columns.map(({ from: left, length: width }) => ({ left, top, widthPx: width, heightPx: length })),
  );
}

function cut(length: number, side: number): { readonly from: number; readonly length: number }[] {
  const count = Math.ceil(length / side);
  return Array.from({ length: count }, (_, index) => {
    const from = Math.round((index * length) / count);
    return { from, length: Math.round(((index + 1) * length) / count) - from };
  });
}

/** Copies a tile's pixels, four bytes each and rows from the top, into the picture, which begins at byte `plane`. */
export function placeTile(picture: Uint8Array, widthPx: number, plane: number, tile: Tile, pixels: Uint8Array): void {
  const row = tile.widthPx * 4;
  for (let y = 0; y < tile.heightPx; y++) {
    const to = plane + ((tile.top + y) * widthPx + tile.left) * 4;
    picture.set(pixels.subarray(y * row, (y + 1) * row), to);
  }
}

/** The common part of two boxes; 0 × 0 if they do not overlap. */
export function intersect(one: Tile, other: Tile): Tile {
  const left = Math.max(one.left, other.left);
  const top = Math.max(one.top, other.top);
  const widthPx = Math.min(one.left + one.widthPx, other.left + other.widthPx) - left;
  const heightPx = Math.min(one.top + one.heightPx, other.top + other.heightPx) - top;
  return widthPx > 0 && heightPx > 0 ? { left, top, widthPx, heightPx } : { left, top, widthPx: 0, heightPx: 0 };
}

/** The smallest box around all of them. */
export function unite(boxes: readonly Tile[]): Tile {
  const some = boxes.filter(({ widthPx }) => widthPx > 0);
  if (some.length === 0) return { left: 0, top: 0, widthPx: 0, heightPx: 0 };
  const left = Math.min(...some.map((box) => box.left));
  const top = Math.min(...some.map((box) => box.top));
  const right = Math.max(...some.map((box) => box.left + box.widthPx));
  const bottom = Math.max(...some.map((box) => box.top + box.heightPx));
  return { left, top, widthPx: right - left, heightPx: bottom - top };
}
