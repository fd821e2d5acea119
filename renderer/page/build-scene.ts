import {
  type BufferGeometry,
  Group,
  InstancedMesh,
  Matrix4,
  Mesh,
  Object3D,
  Quaternion,
  Skeleton,
  SkinnedMesh,
  Vector3,
} from 'three';
import { buildGeometry, drawsTriangles, type GeometrySource } from './build-geometry.ts';
import {
  asIndex,
  asList,
  asNumber,
  asNumbers,
  asObject,
  asText,
  describePlace,
  FileFault,
  type GltfDocument,
  getExtension,
  type Json,
} from './gltf-document.ts';
import type { MaterialStore } from './material-store.ts';

/** A primitive's place in the document, and the node that draws it. */
export interface PartPlace {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
}

/** A primitive in the scene. */
export interface Part {
  readonly mesh: Mesh;
  readonly place: PartPlace;
}

interface BuiltScene {
  readonly root: Group;
  /** In the order of the document's tree. */
  readonly parts: readonly Part[];
  /** Unreadable parts, each with its place and reason. */
  readonly faults: readonly string[];
}

/** Deeper chains of nodes continue from the root, because three walks them by recursion and chains can be long. */
const MAX_DEPTH = 256;

/** Limits of repeated meshes: instances per node, and vertices in all. The same as on receipt; see `place-scene.ts` there. */
const MAX_INSTANCES = 1_000_000;
const MAX_VERTICES = 64_000_000;

/**
 * Builds the scene that viewers show of a document: the default one or the first, and without scenes all root nodes. It
 * omits lights, cameras, animations, points and lines. The studio has its own, or does not show them.
 */
export async function buildScene(source: GeometrySource, materials: MaterialStore): Promise<BuiltScene> {
  const { document } = source;
  const root = new Group();
  const objects = new Map<number, Object3D>();
  const drawn: { readonly node: number; readonly holder: Object3D }[] = [];
  const stack = listTops(document)
    .reverse()
    .map((node) => ({ node, parent: root as Object3D, depth: 0, isHidden: false }));
  while (stack.length > 0) {
    const { node, parent, depth, ...above } = stack.pop()!;
    // Nodes must form trees. In a wrong file, each node keeps the place where it is found first.
    if (objects.has(node)) continue;
    const json = document.list('nodes')[node]!;
    const object = placeNode(json, parent, depth < MAX_DEPTH ? undefined : root);
    objects.set(node, object);
    // Hides the nodes below as well; joints keep their place.
    const isHidden = above.isHidden || getExtension(json, 'KHR_node_visibility')?.visible === false;
    if (json.mesh !== undefined && !isHidden) {
      const holder = new Group();
      object.add(holder);
      drawn.push({ node, holder });
    }
    const below = depth < MAX_DEPTH ? depth + 1 : 1;
    for (const child of listNodes(document, json.children).reverse()) {
      stack.push({ node: child, parent: object, depth: below, isHidden });
    }
  }

  const faults: string[] = [];
  const geometries = new Map<string, Promise<BufferGeometry>>();
  const found = await Promise.all(
    drawn.map(({ node, holder }) => buildParts({ ...source, materials, geometries, objects, faults }, node, holder)),
  );
  return { root, parts: found.flat(), faults };
}

interface Workshop extends GeometrySource {
  readonly materials: MaterialStore;
  readonly geometries: Map<string, Promise<BufferGeometry>>;
  readonly objects: Map<number, Object3D>;
  readonly faults: string[];
}

/** Adds a node to its parent, or with `instead` to the root, at its place in the scene. */
function placeNode(json: Json, parent: Object3D, instead: Object3D | undefined): Object3D {
  const object = new Object3D();
  object.name = asText(json.name);
  const matrix = asNumbers(json.matrix, 16);
  if (matrix) {
    object.applyMatrix4(new Matrix4().fromArray(matrix));
  } else {
    object.position.fromArray(asNumbers(json.translation, 3) ?? [0, 0, 0]);
    object.quaternion.fromArray(asNumbers(json.rotation, 4) ?? [0, 0, 0, 1]);
    object.scale.fromArray(asNumbers(json.scale, 3) ?? [1, 1, 1]);
  }
  (instead ?? parent).add(object);
  if (instead) {
    object.updateMatrix();
    parent.updateWorldMatrix(true, false);
    object.matrix.premultiply(parent.matrixWorld);
    object.matrixAutoUpdate = false;
  }
  return object;
}

function listNodes(document: GltfDocument, indices: unknown): number[] {
  const { length } = document.list('nodes');
  return asList(indices).filter((index): index is number => (asIndex(index) ?? length) < length);
}

/**
 * The root nodes of the scene. As in the survey, a node below another of the list is drawn once, at its place below it.
 */
function listTops(document: GltfDocument): number[] {
  const nodes = document.list('nodes');
  const parents = new Map<number, number>();
  nodes.forEach((node, parent) => {
    for (const child of listNodes(document, node.children)) parents.set(child, parent);
  });
  const scene = document.list('scenes')[asIndex(document.root.scene) ?? 0];
  if (!scene) return [...nodes.keys()].filter((node) => !parents.has(node));
  const listed = new Set(listNodes(document, scene.nodes));
  return [...listed].filter((node) => {
    const seen = new Set([node]);
    for (let at = parents.get(node); at !== undefined && !seen.has(at); at = parents.get(at)) {
      if (listed.has(at)) return false;
      seen.add(at);
    }
    return true;
  });
}

/** Builds the parts of a node and adds them to it. */
async function buildParts(workshop: Workshop, node: number, holder: Object3D): Promise<Part[]> {
  const { document, faults } = workshop;
  const nodeJson = document.list('nodes')[node]!;
  const mesh = asIndex(nodeJson.mesh) ?? -1;
  const meshJson = document.list('meshes')[mesh];
  if (!meshJson) return [];
  const instances = await readInstances(workshop, nodeJson).catch((fault: Error) => fault);
  const skeleton = await readSkeleton(workshop, nodeJson.skin);
  const primitives = asList(meshJson.primitives).map(asObject);
  const built = await Promise.all(
    primitives.map(async (json, primitive): Promise<Part | undefined> => {
      if (!drawsTriangles(json)) return undefined;
      try {
        const made = await buildMesh(workshop, json, { nodeJson, meshJson, instances, skeleton });
        made.name = asText(nodeJson.name) || asText(meshJson.name);
        return { mesh: made, place: { node, mesh, primitive } };
      } catch (error) {
        const place = `${describePlace('mesh', mesh, meshJson)}, primitive ${primitive}`;
        const fault = `${place}: ${error instanceof Error ? error.message : error}`;
        if (!faults.includes(fault)) faults.push(fault);
        return undefined;
      }
    }),
  );
  const parts = built.filter((part) => part !== undefined);
  for (const part of parts) holder.add(part.mesh);
  return parts;
}

interface Place {
  readonly nodeJson: Json;
  readonly meshJson: Json;
  /** Or the reason why it cannot be repeated. */
  readonly instances: readonly Matrix4[] | Error | undefined;
  readonly skeleton: Skeleton | undefined;
}

async function buildMesh(workshop: Workshop, json: Json, place: Place): Promise<Mesh> {
  const { nodeJson, meshJson, instances, skeleton } = place;
  if (instances instanceof Error) throw instances;
  if (instances?.length === 0) throw new FileFault('It has no instances.');
  const weights = asList(nodeJson.weights ?? meshJson.weights).map((weight) => asNumber(weight) ?? 0);
  const targets = [...weights.keys()].filter((target) => weights[target] !== 0 && asList(json.targets)[target]);
  const { attributes, indices, mode, extensions, targets: all } = json;
  const key = JSON.stringify([attributes, indices, mode, extensions, targets.length > 0 && [targets, all]]);
  let pending = workshop.geometries.get(key);
  if (!pending) {
    pending = buildGeometry(workshop, json, targets);
    workshop.geometries.set(key, pending);
  }
  const geometry = await pending;
  if (instances && instances.length * geometry.getAttribute('position').count > MAX_VERTICES) {
    throw new FileFault(`With its instances, it has more than ${MAX_VERTICES / 1e6} million vertices.`);
  }
  const material = await workshop.materials.getOwn(asIndex(json.material), geometry);
  const mesh = instances
    ? new InstancedMesh(geometry, material, instances.length)
    : skeleton && fitsSkeleton(geometry, skeleton)
      ? new SkinnedMesh(geometry, material)
      : new Mesh(geometry, material);
  if (mesh instanceof InstancedMesh) {
    for (const [index, matrix] of instances!.entries()) mesh.setMatrixAt(index, matrix);
  } else if (mesh instanceof SkinnedMesh) {
    mesh.normalizeSkinWeights();
    mesh.bind(skeleton!, new Matrix4());
  }
  // three does not give a repeated mesh its influences, but needs them to draw it.
  if (Object.keys(geometry.morphAttributes).length > 0) {
    mesh.morphTargetInfluences = targets.map((target) => weights[target]!);
  }
  return mesh;
}

/**
 * The places at which a node repeats its mesh (`EXT_mesh_gpu_instancing`); undefined for a node that does not.
 * @throws FileFault when there are too many
 */
async function readInstances({ accessors }: Workshop, node: Json): Promise<readonly Matrix4[] | undefined> {
  const listed = asObject(getExtension(node, 'EXT_mesh_gpu_instancing')?.attributes);
  const read = async (name: string, size: number) => {
    const found = listed[name] === undefined ? undefined : await accessors.read(listed[name]).catch(() => undefined);
    return found?.itemSize === size ? found : undefined;
  };
  const [move, turn, scale] = await Promise.all([read('TRANSLATION', 3), read('ROTATION', 4), read('SCALE', 3)]);
  const counts = [move, turn, scale].flatMap((attribute) => attribute?.count ?? []);
  if (counts.length === 0) return undefined;
  if (Math.min(...counts) > MAX_INSTANCES) {
    throw new FileFault(`It has more than ${MAX_INSTANCES / 1e6} million instances.`);
  }
  const [position, quaternion, size] = [new Vector3(), new Quaternion(), new Vector3(1, 1, 1)];
  const matrices = Array.from({ length: Math.min(...counts) }, (_, index) => {
    if (move) position.fromBufferAttribute(move, index);
    if (turn) quaternion.fromBufferAttribute(turn, index);
    if (scale) size.fromBufferAttribute(scale, index);
    return new Matrix4().compose(position, quaternion, size);
  });
  return matrices.filter(({ elements }) => elements.every((element) => Number.isFinite(Math.fround(element))));
}

async function readSkeleton({ document, accessors, objects }: Workshop, index: unknown): Promise<Skeleton | undefined> {
  const skin = document.list('skins')[asIndex(index) ?? -1];
  const joints = listNodes(document, skin?.joints);
  if (!skin || joints.length === 0 || joints.length !== asList(skin.joints).length) return undefined;
  const inverses = await accessors.read(skin.inverseBindMatrices).catch(() => undefined);
  const bones = joints.map((joint) => objects.get(joint) ?? new Object3D());
  const matrices = joints.map((_, joint) => {
    const matrix = new Matrix4();
    if (inverses?.itemSize === 16 && joint < inverses.count) matrix.fromArray(inverses.array, joint * 16);
    return matrix;
  });
  // three accepts any object as a bone, because it reads only its position.
  return new Skeleton(bones as Skeleton['bones'], matrices);
}

function fitsSkeleton(geometry: BufferGeometry, { bones }: Skeleton): boolean {
  if (!geometry.hasAttribute('skinIndex') || !geometry.hasAttribute('skinWeight')) return false;
  const { array } = geometry.getAttribute('skinIndex');
  return array.every((joint: number) => joint >= 0 && joint < bones.length);
}
