/**
 * Most vertices and triangles of a scene, instances included. A node of a few bytes may draw millions of them, which would
 * use up memory or minutes. The largest product models draw a tenth of this.
 */
export const VERTEX_LIMIT = 64_000_000;
export const TRIANGLE_LIMIT = 100_000_000;
