import {
  BufferAttribute,
  type BufferGeometry,
  DoubleSide,
  FrontSide,
  type InstancedMesh,
  type Material,
  Matrix4,
  type Mesh,
  type Ray,
  type SkinnedMesh,
  Vector3,
} from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import type { PieceMap } from '../../../server/core/product/piece-map.ts';
import { getInstances } from '../build-geometry.ts';
import type { PartPlace } from '../build-scene.ts';
import type { Product } from '../load-product.ts';
import { type PlacedMesh, toGeometry } from './pick-geometry.ts';
import type { BuiltTree, PickTask } from './pick-worker.ts';

/** A part of a product under a pointer. */
export interface Hit extends PartPlace {
  /** Id of its piece; null where the pieces are not known. */
  readonly piece: string | null;
}

/** What a person selects: single pieces, or whole primitives. */
export interface Selection {
  readonly pieces: ReadonlySet<string>;
  readonly parts: readonly { readonly mesh: number; readonly primitive: number }[];
}

/** Finds what a ray hits first. Its triangles are those of the product, in the scene, without the turn of the turntable. */
export interface Picker {
  /** All triangles; the attribute `thing` has the number of what each belongs to. */
  readonly geometry: BufferGeometry;
  pick(ray: Ray): Hit | null;
  /** Tells pieces apart from now on. */
  setPieces(map: PieceMap): Promise<void>;
  /** Numbers of things: those of pieces first, then one for the rest of each part. */
  countThings(): number;
  /** The numbers of things of a selection. */
  listThings(selection: Selection): readonly number[];
  /** The piece that a number stands for; null for the rest of a part. */
  getPiece(thing: number): string | null;
  dispose(): void;
}

/**
 * Merges the product's triangles and builds a tree over them in a worker.
 * @returns null if the product went before that
 */
export async function createPicker(product: Product, signal: AbortSignal): Promise<Picker | null> {
  const worker = new Worker(new URL('./pick-worker.ts', import.meta.url), { type: 'module' });
  signal.addEventListener('abort', () => worker.terminate());
  const ask = <Result>(task: PickTask, moved: Transferable[]) =>
    new Promise<Result>((resolve, reject) => {
      worker.onmessage = ({ data }) => resolve(data);
      worker.onerror = (event) => reject(new Error(event.message));
      worker.postMessage(task, moved);
    });
  const meshes: PlacedMesh[] = [];
  for (const mesh of product.meshes) meshes.push(await placeMesh(mesh, product, signal));
  if (signal.aborted) return null;
  const built = await ask<BuiltTree>(
    { kind: 'build', meshes },
    meshes.map(({ positions }) => positions.buffer as ArrayBuffer),
  );
  const { starts } = built.triangles;
  const geometry = toGeometry(built.triangles);
  const tree = MeshBVH.deserialize(built.tree, geometry, { setIndex: false });
  const parts = product.meshes.map((mesh) => product.places.get(mesh)!);
  let pieces: readonly string[] = [];
  let numbers = new Map<string, number>();
  let ofTriangle = new Int32Array(starts[parts.length]!);
  parts.forEach((_, part) => {
    ofTriangle.fill(part, starts[part], starts[part + 1]);
  });
  let thingsOfPart = parts.map((_, part) => new Set([part]));

  /** Before the thread answers, the numbers stay those of the whole parts. */
  async function number(next: Int32Array): Promise<void> {
    const things = await ask<Float32Array>({ kind: 'number', ofTriangle: next }, []);
    geometry.setAttribute('thing', new BufferAttribute(things, 1));
  }
  await number(ofTriangle);

  function findPart(triangle: number): number {
    let [low, high] = [0, parts.length];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (starts[middle]! <= triangle) low = middle;
      else high = middle;
    }
    return low;
  }

  const toHit = (triangle: number): Hit => ({
    ...parts[findPart(triangle)]!,
    piece: pieces[ofTriangle[triangle]!] ?? null,
  });

  const normal = new Vector3();
  /** Whether a viewer sees this side of a triangle. */
  function isSeen(triangle: number, ray: Ray): boolean {
    const material = product.meshes[findPart(triangle)]!.material as Material;
    if (!material.visible) return false;
    if (material.side === DoubleSide) return true;
    const [position, index] = [geometry.getAttribute('position'), geometry.index!];
    const [a, b, c] = [0, 1, 2].map((corner) =>
      new Vector3().fromBufferAttribute(position, index.getX(triangle * 3 + corner)),
    );
    normal.crossVectors(b!.sub(a!), c!.sub(a!));
    return normal.dot(ray.direction) < 0 === (material.side === FrontSide);
  }

  return {
    geometry,
    pick(ray) {
      const first = tree.raycastFirst(ray, DoubleSide);
      if (!first) return null;
      if (isSeen(first.faceIndex!, ray)) return toHit(first.faceIndex!);
      const all = tree.raycast(ray, DoubleSide).sort((a, b) => a.distance - b.distance);
      const seen = all.find(({ faceIndex }) => isSeen(faceIndex!, ray));
      return seen ? toHit(seen.faceIndex!) : null;
    },
    async setPieces(map) {
      const byPlace = new Map(map.parts.map((part) => [nameOf(part), part.pieceOfTriangle]));
      const next = new Int32Array(ofTriangle.length);
      const things = parts.map(() => new Set<number>());
      for (const [part, place] of parts.entries()) {
        await pause(signal);
        const rest = map.pieces.length + part;
        const pieceOf = byPlace.get(nameOf(place));
        const [from, to] = [starts[part]!, starts[part + 1]!];
        const single = pieceOf?.length ?? 0;
        // where the page has left triangles out, it does not know which
        const fits = single > 0 && (to - from) % single === 0;
        for (let triangle = from; triangle < to; triangle++) {
          const piece = fits ? pieceOf![(triangle - from) % single]! : -1;
          const thing = piece < 0 ? rest : piece;
          next[triangle] = thing;
          if (triangle === from || thing !== next[triangle - 1]) things[part]!.add(thing);
        }
      }
      await number(next);
      pieces = map.pieces;
      numbers = new Map(pieces.map((piece, at) => [piece, at]));
      ofTriangle = next;
      thingsOfPart = things;
    },
    countThings: () => pieces.length + parts.length,
    listThings({ pieces: wanted, parts: whole }) {
      const things = new Set<number>();
      for (const piece of wanted) if (numbers.has(piece)) things.add(numbers.get(piece)!);
      const names = new Set(whole.map(({ mesh, primitive }) => `${mesh}/${primitive}`));
      for (const [part, { mesh, primitive }] of parts.entries()) {
        if (names.has(`${mesh}/${primitive}`)) for (const thing of thingsOfPart[part]!) things.add(thing);
      }
      return [...things];
    },
    getPiece: (thing) => pieces[thing] ?? null,
    dispose() {
      worker.terminate();
      geometry.dispose();
    },
  };
}

const nameOf = ({ node, mesh, primitive }: PartPlace) => `${node}/${mesh}/${primitive}`;

/** Vertices that are read between two frames where they have to be read one by one. */
const VERTICES_AT_ONCE = 20_000;

/** Copies what the worker needs of a mesh, in slices where single vertices must be computed. */
async function placeMesh(mesh: Mesh, { root }: Product, signal: AbortSignal): Promise<PlacedMesh> {
  await pause(signal);
  const { geometry } = mesh;
  const position = geometry.getAttribute('position');
  const { array } = position;
  const plain = !isPosed(mesh) && array instanceof Float32Array && !('isInterleavedBufferAttribute' in position);
  let positions: Float32Array;
  if (plain) positions = array.slice(0, position.count * 3) as Float32Array;
  else {
    positions = new Float32Array(position.count * 3);
    const point = new Vector3();
    for (let vertex = 0; vertex < position.count; vertex++) {
      if (vertex % VERTICES_AT_ONCE === VERTICES_AT_ONCE - 1) await pause(signal);
      mesh.getVertexPosition(vertex, point).toArray(positions, vertex * 3);
    }
  }
  const count = getInstances(mesh);
  const places = new Float32Array(count * 16);
  // where the product stands before the turntable turns it
  const stand = root.matrixWorld.clone().invert().multiply(mesh.matrixWorld);
  const matrix = new Matrix4();
  for (let instance = 0; instance < count; instance++) {
    matrix.identity();
    if ('isInstancedMesh' in mesh) (mesh as InstancedMesh).getMatrixAt(instance, matrix);
    matrix.premultiply(stand).toArray(places, instance * 16);
  }
  return { positions, index: (geometry.index?.array as Uint32Array | undefined) ?? null, places };
}

function isPosed(mesh: Mesh): boolean {
  return Boolean((mesh as SkinnedMesh).isSkinnedMesh) || Object.keys(mesh.geometry.morphAttributes).length > 0;
}

/** Lets the page draw a frame. */
function pause(signal: AbortSignal): Promise<void> {
  return signal.aborted ? Promise.resolve() : new Promise((resolve) => setTimeout(resolve));
}
