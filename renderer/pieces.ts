import type { PixelBox, RawLayer } from '../server/core/ports/renderer.ts';
import { placeTile, type Tile } from './tiles.ts';

// Pictures and layers arrive tile by tile. Each piece is put into its place when it arrives, so that the main thread copies a
// few megabytes at a time.

interface PicturePieces {
  add(tile: Tile, rgba: Uint8Array): void;
  get(): Uint8Array;
}

export function createPicturePieces({ widthPx, heightPx }: Pick<Tile, 'widthPx' | 'heightPx'>): PicturePieces {
  let whole: Uint8Array | undefined;
  return {
    add(tile, rgba) {
      if (tile.widthPx === widthPx && tile.heightPx === heightPx) whole = rgba;
      else {
        whole ??= new Uint8Array(widthPx * heightPx * 4);
        placeTile(whole, widthPx, 0, tile, rgba);
      }
    },
    get: () => whole!,
  };
}

/** Two boxes: the whole layer's, and that of its piece in the tile. Each has left, top, width and height. */
export const LAYER_HEADER_BYTES = 32;

/** Layers arrive one after the other, each after its header. */
export function splitLayers(pieces: readonly Uint8Array[]): number {
  if (pieces.length % 2 === 0) return LAYER_HEADER_BYTES;
  const { widthPx, heightPx } = readHeader(pieces.at(-1)!).piece;
  return widthPx * heightPx * 8;
}

interface LayerPieces {
  /** Adds a tile of all layers, as `splitLayers` splits it. */
  add(pieces: readonly Uint8Array[]): void;
  get(): readonly Pick<RawLayer, 'box' | 'bytes'>[];
}

export function createLayerPieces(): LayerPieces {
  const layers: { box: PixelBox; bytes: Uint8Array }[] = [];
  return {
    add(pieces) {
      for (let layer = 0; layer < pieces.length / 2; layer++) {
        const { box, piece } = readHeader(pieces[layer * 2]!);
        const bytes = pieces[layer * 2 + 1]!;
        const size = box.widthPx * box.heightPx * 4;
        if (bytes.length === size * 2) layers[layer] = { box, bytes };
        if (bytes.length === 0 && layers[layer]) continue;
        layers[layer] ??= { box, bytes: new Uint8Array(size * 2) };
        if (bytes.length === size * 2) continue;
        const place = { ...piece, left: piece.left - box.left, top: piece.top - box.top };
        for (const plane of [0, 1]) {
          const part = bytes.subarray((plane * bytes.length) / 2, ((plane + 1) * bytes.length) / 2);
          placeTile(layers[layer]!.bytes, box.widthPx, plane * size, place, part);
        }
      }
    },
    get: () => layers,
  };
}

function readHeader(header: Uint8Array): { readonly box: PixelBox; readonly piece: PixelBox } {
  const words = new Uint32Array(header.slice().buffer);
  const [box, piece] = [0, 4].map((at) => ({
    left: words[at]!,
    top: words[at + 1]!,
    widthPx: words[at + 2]!,
    heightPx: words[at + 3]!,
  })) as [PixelBox, PixelBox];
  return { box, piece };
}
