/** An indexed set of triangles. */
export interface Triangles {
  readonly positions: Float32Array;
  readonly indices: Uint32Array;
}

/**
 * Merges vertices that share a cell of a grid into their mean, and drops triangles that vanish by it or stand twice.
 * A depth map cannot see what is smaller than its texels, and software GL pays for every triangle in each of a hundred
 * maps: a lamp with a woven cord loses most of its 116,000. Large faces stay as they are.
 */
export function clusterTriangles({ positions, indices }: Triangles, cell: number): Triangles {
  const clusters = new Map<string | number, number>();
  const of = new Uint32Array(positions.length / 3);
  const sums: number[] = [];
  const counts: number[] = [];
  for (let vertex = 0; vertex < of.length; vertex++) {
    const [x, y, z] = [positions[vertex * 3]!, positions[vertex * 3 + 1]!, positions[vertex * 3 + 2]!];
    const key = getKey(Math.floor(x / cell), Math.floor(y / cell), Math.floor(z / cell));
    let cluster = clusters.get(key);
    if (cluster === undefined) {
      cluster = counts.length;
      clusters.set(key, cluster);
      counts.push(0);
      sums.push(0, 0, 0);
    }
    of[vertex] = cluster;
    counts[cluster]!++;
    sums[cluster * 3]! += x;
    sums[cluster * 3 + 1]! += y;
    sums[cluster * 3 + 2]! += z;
  }
  const merged = new Float32Array(sums.length);
  for (let at = 0; at < merged.length; at++) merged[at] = sums[at]! / counts[Math.floor(at / 3)]!;

  const kept: number[] = [];
  const seen = new Set<string | number>();
  for (let at = 0; at + 2 < indices.length; at += 3) {
    const [a, b, c] = [of[indices[at]!]!, of[indices[at + 1]!]!, of[indices[at + 2]!]!];
    if (a === b || b === c || c === a) continue;
    const low = Math.min(a, b, c);
    const high = Math.max(a, b, c);
    const key = getKey(low, a + b + c - low - high, high);
    if (seen.has(key)) continue;
    seen.add(key);
    kept.push(a, b, c);
  }
  return { positions: merged, indices: new Uint32Array(kept) };
}

/** Seventeen bits each make one exact number; what does not fit becomes text. */
function getKey(a: number, b: number, c: number): string | number {
  const half = 65_536;
  const [x, y, z] = [a + half, b + half, c + half];
  const room = half * 2;
  if (x < 0 || y < 0 || z < 0 || x >= room || y >= room || z >= room) return `${a},${b},${c}`;
  return (x * room + y) * room + z;
}
