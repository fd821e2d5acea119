import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';
import {
  COMPONENT_BYTES,
  type GltfJson,
  MESHOPT,
  TRIANGLE_FAN,
  TRIANGLE_STRIP,
  TRIANGLES,
  TYPE_COMPONENTS,
} from '../document/json.ts';
import { TRIANGLE_LIMIT, VERTEX_LIMIT } from '../document/limits.ts';

/**
 * Most objects of each kind. The largest product models have a tenth of them. With as many, a file takes some ten seconds of
 * one thread, and beyond, minutes.
 */
const LIMITS = {
  nodes: 2_000_000,
  meshes: 200_000,
  primitives: 400_000,
  draws: 1_000_000,
  materials: 20_000,
  textures: 50_000,
  images: 10_000,
  accessors: 1_000_000,
  bufferViews: 1_000_000,
  buffers: 10_000,
  animations: 100_000,
  channels: 1_000_000,
  skins: 20_000,
  joints: 1_000_000,
  'morph targets': 200_000,
  attributes: 4_000_000,
  'variant mappings': 4_000_000,
  'extension names': 10_000,
} as const;
type Counted = keyof typeof LIMITS;

/** Most bytes that accessors, or compressed views, take when they are unpacked. Many may be unpacked from the same bytes. */
const UNPACKED_LIMIT = 2 * 1024 ** 3;

type Loose = Record<string, unknown>;

/**
 * Refuses a model that would cost more than a thread can do, from its JSON alone and before anything else reads it. The JSON
 * may have any shape: what is no list counts as empty, and `checkStructure` refuses it later. Takes one pass.
 * @throws Problem `model-too-complex`
 */
export function checkComplexity(json: GltfJson): void {
  const root = json as unknown as Loose;
  for (const kind of ['nodes', 'materials', 'textures', 'images', 'accessors', 'bufferViews', 'buffers'] as const)
    limit(kind, listOf(root[kind]).length);
  for (const names of [root.extensionsUsed, root.extensionsRequired]) limit('extension names', listOf(names).length);
  checkGeometry(root);
  const animations = listOf(root.animations);
  limit('animations', animations.length);
  limit(
    'channels',
    sum(animations, ({ channels }) => listOf(channels).length),
  );
  limit(
    'channels',
    sum(animations, ({ samplers }) => listOf(samplers).length),
  );
  const skins = listOf(root.skins);
  limit('skins', skins.length);
  limit(
    'joints',
    sum(skins, ({ joints }) => listOf(joints).length),
  );
}

/** What primitives read, how often they are drawn, and how much memory that takes. */
function checkGeometry(root: Loose): void {
  const meshes = listOf(root.meshes);
  limit('meshes', meshes.length);
  limit(
    'primitives',
    sum(meshes, ({ primitives }) => listOf(primitives).length),
  );
  const views = listOf(root.bufferViews);
  // a count that its view cannot hold is an error of the structure, and not one of complexity
  const accessors = listOf(root.accessors).map((accessor) => ({
    ...accessor,
    count: fits(accessor, views[accessor.bufferView as number]) ? accessor.count : 0,
  }));
  const read = new Set<number>();
  const costs = meshes.map(({ primitives }) => measureMesh(listOf(primitives), accessors, read));
  limit(
    'morph targets',
    sum(costs, ({ targets }) => targets),
  );
  limit(
    'attributes',
    sum(costs, ({ attributes }) => attributes),
  );
  limit(
    'variant mappings',
    sum(costs, ({ mappings }) => mappings),
  );
  let [draws, vertices, triangles] = [0, 0, 0];
  for (const { mesh } of listOf(root.nodes)) {
    const cost = costs[mesh as number];
    if (!cost) continue;
    draws += cost.draws;
    vertices += cost.vertices;
    triangles += cost.triangles;
  }
  limit('draws', draws);
  if (vertices > VERTEX_LIMIT || triangles > TRIANGLE_LIMIT) {
    throw new Problem('model-too-complex', {
      detail: MODEL_PROBLEMS['model-too-complex'].drawn(VERTEX_LIMIT, TRIANGLE_LIMIT),
      expected: { vertices: VERTEX_LIMIT, triangles: TRIANGLE_LIMIT },
      received: { vertices, triangles },
    });
  }
  checkUnpacked(sum([...read], (index) => unpackedBytes(accessors[index])));
  checkUnpacked(sum(views, compressedBytes));
}

interface MeshCost {
  readonly draws: number;
  readonly vertices: number;
  readonly triangles: number;
  readonly targets: number;
  readonly attributes: number;
  readonly mappings: number;
}

/** @param read gets the accessors of the mesh */
function measureMesh(primitives: readonly Loose[], accessors: readonly Loose[], read: Set<number>): MeshCost {
  let [vertices, triangles, targets, attributes, mappings] = [0, 0, 0, 0, 0];
  for (const { attributes: own, indices, targets: morphs, extensions, mode = TRIANGLES } of primitives) {
    const morphed = listOf(morphs);
    targets += morphed.length;
    for (const values of [own, ...morphed, { indices }]) {
      for (const index of Object.values(asObject(values))) {
        attributes += 1;
        if (typeof index === 'number') read.add(index);
      }
    }
    mappings += sum(listOf(asObject(asObject(extensions).KHR_materials_variants).mappings), ({ variants }) =>
      Math.max(1, listOf(variants).length),
    );
    const positions = accessors[asObject(own).POSITION as number];
    // positions without bytes are not drawn
    if (positions?.bufferView === undefined) continue;
    vertices += countOf(positions);
    const corners = countOf(indices === undefined ? positions : accessors[indices as number]);
    triangles += mode === TRIANGLES ? corners / 3 : mode === TRIANGLE_STRIP || mode === TRIANGLE_FAN ? corners : 0;
  }
  return { draws: primitives.length, vertices, triangles, targets, attributes, mappings };
}

/** Memory of an accessor's values as they are read: four bytes for each number. */
function unpackedBytes(accessor: Loose | undefined): number {
  if (!accessor || (accessor.bufferView === undefined && accessor.sparse === undefined)) return 0;
  const isFloat = COMPONENT_BYTES[accessor.componentType as number] === 4 && accessor.sparse === undefined;
  // values that lie in the file as they are needed are not copied
  return isFloat ? 0 : 4 * (TYPE_COMPONENTS[accessor.type as string] ?? 0) * countOf(accessor);
}

function compressedBytes({ byteLength, extensions }: Loose): number {
  const isCompressed = MESHOPT.some((name) => asObject(extensions)[name] !== undefined);
  return isCompressed && typeof byteLength === 'number' ? byteLength : 0;
}

function checkUnpacked(bytes: number): void {
  if (!(bytes > UNPACKED_LIMIT)) return;
  throw new Problem('model-too-complex', {
    detail: MODEL_PROBLEMS['model-too-complex'].unpacked(Math.round(UNPACKED_LIMIT / 1024 / 1024)),
    expected: UNPACKED_LIMIT,
    received: bytes,
  });
}

function limit(kind: Counted, count: number): void {
  if (count <= LIMITS[kind]) return;
  throw new Problem('model-too-complex', {
    detail: MODEL_PROBLEMS['model-too-complex'].kind(kind, count, LIMITS[kind]),
    expected: LIMITS[kind],
    received: count,
  });
}

const fits = ({ count }: Loose, view: Loose | undefined) =>
  typeof view?.byteLength !== 'number' || typeof count !== 'number' || count <= view.byteLength;
const countOf = (accessor: Loose | undefined) =>
  typeof accessor?.count === 'number' ? Math.max(0, accessor.count) : 0;
const asObject = (value: unknown) => (typeof value === 'object' && value !== null ? value : {}) as Loose;

/** The objects of a list; anything else counts as an empty object, so places stay. */
function listOf(value: unknown): readonly Loose[] {
  return Array.isArray(value) ? value.map(asObject) : [];
}

function sum<Item>(items: readonly Item[], measure: (item: Item) => number): number {
  return items.reduce((total, item) => total + measure(item), 0);
}
