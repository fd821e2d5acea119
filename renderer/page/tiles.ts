/** A piece of a picture that is drawn at once; pixels from the picture's top left corner. */
export interface Tile {
  readonly left: number;
  readonly top: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** Cuts a picture into tiles of no more than a side, as alike as whole pixels allow. */
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

/** Puts a tile's pixels, four bytes each and rows from the top, in their place; `plane` is where the picture begins. */
export function placeTile(picture: Uint8Array, widthPx: number, plane: number, tile: Tile, pixels: Uint8Array): void {
  const row = tile.widthPx * 4;
  for (let y = 0; y < tile.heightPx; y++) {
    const to = plane + ((tile.top + y) * widthPx + tile.left) * 4;
    picture.set(pixels.subarray(y * row, (y + 1) * row), to);
  }
}
