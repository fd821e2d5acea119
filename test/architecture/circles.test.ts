import { describe, expect, it } from 'vitest';
import { arrows, sources } from '../support/read-imports.ts';

describe('imports', () => {
  it('form no circle, not even of types', () => {
    const circles = listCircles(new Map(sources.map((path) => [path, filesImportedBy(path)])));
    expect(circles.map((files) => files.join(' → '))).toEqual([]);
  });
});

describe('a circle of imports is seen', () => {
  it.each([
    [{ a: ['b'], b: ['c'], c: ['a'], d: ['a'] }, [['a', 'b', 'c']]],
    [{ a: ['a'] }, [['a']]],
    [{ a: ['b', 'c'], b: ['c'], c: [] }, []],
  ])('%j', (graph: Record<string, readonly string[]>, circles) => {
    expect(listCircles(new Map(Object.entries(graph)))).toEqual(circles);
  });
});

function filesImportedBy(path: string): string[] {
  return arrows.filter((arrow) => arrow.path === path && arrow.kind === 'file').map(({ target }) => target);
}

/** Groups of files that reach each other: Tarjan, "Depth-first search and linear graph algorithms" (1972). */
function listCircles(graph: ReadonlyMap<string, readonly string[]>): string[][] {
  const order = new Map<string, number>();
  const lowest = new Map<string, number>();
  const open: string[] = [];
  const circles: string[][] = [];
  const visit = (file: string) => {
    const number = order.size;
    order.set(file, number);
    lowest.set(file, number);
    open.push(file);
    for (const next of graph.get(file) ?? []) {
      if (!graph.has(next)) continue;
      if (!order.has(next)) visit(next);
      if (open.includes(next)) lowest.set(file, Math.min(lowest.get(file)!, lowest.get(next)!));
    }
    if (lowest.get(file) !== number) return;
    const group = open.splice(open.indexOf(file));
    if (group.length > 1 || graph.get(file)?.includes(file)) circles.push(group.sort());
  };
  for (const file of graph.keys()) if (!order.has(file)) visit(file);
  return circles;
}

/** What each room of server/gltf may import of the others. A room imports only rooms above it, so data goes one way. */
const GLTF_ROOMS: Readonly<Record<string, readonly string[]>> = {
  document: [],
  geometry: ['document'],
  mend: ['document'],
  receive: ['document', 'mend'],
  survey: ['document', 'geometry', 'mend'],
  validate: ['document', 'mend'],
  materials: ['document', 'mend'],
  write: ['document', 'mend', 'materials'],
  extract: ['document', 'materials', 'write'],
  repair: ['document', 'geometry', 'mend', 'write'],
  variants: ['document', 'mend', 'materials', 'repair'],
  weight: ['document'],
  compress: ['document', 'repair', 'write'],
  usd: ['document', 'geometry', 'mend'],
  worker: [
    'document',
    'receive',
    'survey',
    'validate',
    'materials',
    'write',
    'extract',
    'repair',
    'variants',
    'weight',
    'compress',
    'usd',
  ],
};

describe('the rooms of server/gltf', () => {
  const gltfRoomOf = (path: string) => /^server\/gltf\/([^/]+)\//.exec(path)?.[1];
  const between = arrows.flatMap(({ path, kind, target }) => {
    const [from, to] = [gltfRoomOf(path), gltfRoomOf(target)];
    return kind === 'file' && from && to && from !== to ? [{ from, to, path, target }] : [];
  });

  it('import each other in one order, and no other', () => {
    const wrong = between.filter(({ from, to }) => !GLTF_ROOMS[from]?.includes(to));
    expect(wrong.map(({ path, target }) => `${path} imports ${target}`)).toEqual([]);
  });

  it('have no rule that no import needs', () => {
    const used = new Set(between.map(({ from, to }) => `${from} -> ${to}`));
    const rules = Object.entries(GLTF_ROOMS).flatMap(([from, rooms]) => rooms.map((to) => `${from} -> ${to}`));
    expect(rules.filter((rule) => !used.has(rule))).toEqual([]);
  });

  it('stand on rooms that are listed before them', () => {
    const order = Object.keys(GLTF_ROOMS);
    for (const [room, below] of Object.entries(GLTF_ROOMS))
      for (const other of below) expect(order.indexOf(other), `${room} on ${other}`).toBeLessThan(order.indexOf(room));
  });
});
