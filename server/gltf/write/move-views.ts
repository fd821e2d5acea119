import { type GltfJson, MESHOPT } from '../document/json.ts';

/** Moves every range of buffer 0 to where its bytes will stand, the compressed ranges of meshopt among them. */
export function moveViews(json: GltfJson, shift: (offset: number) => number): void {
  const move = (range: { buffer?: number; byteOffset?: number }) => {
    if (range.buffer !== 0 || !range.byteOffset) return;
    range.byteOffset = shift(range.byteOffset);
  };
  for (const view of json.bufferViews ?? []) {
    move(view);
    for (const name of MESHOPT) if (view.extensions?.[name]) move(view.extensions[name]);
  }
}
