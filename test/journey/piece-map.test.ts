import { afterAll, beforeAll, expect, it } from 'vitest';
import { readPieceMap } from '../../server/core/product/piece-map.ts';
import type { Piece } from '../../server/core/product/survey.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A view in which a person points at pieces must name the same ones as the survey, or a repair would move another piece.

let service: TestService;

beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});

afterAll(() => service?.close());

it.each(['QM-S45', 'QM-L46'])('gives each triangle of %s the piece of the survey', async (product) => {
  const path = `/api/products/${product}`;
  const { body: look } = await service.call('GET', `${path}/look`);
  const { body: survey } = await service.call('GET', `${path}/survey?pieces=1`);
  const { body: packed, headers } = await service.call('GET', look.pieces);
  const { model, pieces, parts } = readPieceMap(packed);
  expect(model).toBe(look.model);
  const triangles = new Map<string, number>();
  const places = new Map<string, Set<string>>();
  for (const { mesh, primitive, pieceOfTriangle } of parts) {
    for (const piece of pieceOfTriangle) {
      if (piece < 0) continue;
      const id = pieces[piece]!;
      triangles.set(id, (triangles.get(id) ?? 0) + 1);
      places.set(id, (places.get(id) ?? new Set()).add(`${mesh}/${primitive}`));
    }
  }
  const listed = survey.pieces as Piece[];
  expect(listed.length).toBeGreaterThan(1);
  expect([...triangles.keys()].sort()).toEqual(listed.map(({ piece }) => piece).sort());
  for (const piece of listed) {
    expect(triangles.get(piece.piece)).toBe(piece.triangles);
    expect([...places.get(piece.piece)!].sort()).toEqual(
      piece.primitives.map(({ mesh, primitive }) => `${mesh}/${primitive}`).sort(),
    );
  }
  const { status } = await service.call('GET', look.pieces, undefined, { 'if-none-match': headers.get('etag')! });
  expect(status).toBe(304);
});
