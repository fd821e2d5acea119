import { expect, it } from 'vitest';
import { packPieceMap, readPieceMap } from '../../../../server/core/product/piece-map.ts';

const MAP = {
  model: 'ab12',
  pieces: ['left leg', 'rechtes Bein, groß'],
  parts: [
    { node: 3, mesh: 0, primitive: 1, pieceOfTriangle: Int32Array.of(0, 0, 0, 1, 1, -1, 0) },
    { node: 4, mesh: 2, primitive: 0, pieceOfTriangle: Int32Array.of() },
    { node: 5, mesh: 0, primitive: 1, pieceOfTriangle: Int32Array.of(1) },
  ],
};

it('comes back as it was, whatever the bytes stand in', () => {
  const packed = packPieceMap(MAP);
  const within = new Uint8Array(packed.length + 7);
  within.set(packed, 3);
  expect(readPieceMap(packed)).toEqual(MAP);
  expect(readPieceMap(within.subarray(3, 3 + packed.length))).toEqual(MAP);
});

it('takes eight bytes for a run of triangles, however long it is', () => {
  const size = (triangles: number) =>
    packPieceMap({ ...MAP, parts: [{ ...MAP.parts[0]!, pieceOfTriangle: new Int32Array(triangles) }] }).length;
  // the number of triangles itself has two more digits
  expect(size(9_000_000) - size(10)).toBeLessThanOrEqual(8);
});

it('is refused when it ends too early', () => {
  const packed = packPieceMap(MAP);
  expect(() => readPieceMap(packed.subarray(0, packed.length - 8))).toThrow(RangeError);
});
