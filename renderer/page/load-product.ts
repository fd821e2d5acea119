import {
  Box3,
  type BufferGeometry,
  type Group,
  type Material,
  type Mesh,
  type SkinnedMesh,
  Sphere,
  Vector3,
} from 'three';
import type { AssignedMaterial } from '../../server/core/ports/renderer.ts';
import { STUDIO_PROBLEMS } from '../../server/core/texts/problems/picture.ts';
import { breathe } from './breathe.ts';
import { bakeAllPositions, dropNonFinite, getInstances } from './build-geometry.ts';
import { buildScene, type Part, type PartPlace } from './build-scene.ts';
import type { Decoders } from './decoders.ts';
import { fetchDocument, openDocument } from './gltf-document.ts';
import { createMaterialStore, type MaterialStore } from './material-store.ts';
import { createAccessorReader } from './read-accessor.ts';
import { StudioProblem } from './studio-problem.ts';
import { createTextureStore } from './texture-store.ts';

export interface Product {
  readonly root: Group;
  readonly materials: MaterialStore;
  /** Triangle meshes in the order of the document. */
  readonly meshes: readonly Mesh[];
  /** The material that the file gives each mesh. */
  readonly ownMaterials: ReadonlyMap<Mesh, Material>;
  readonly places: ReadonlyMap<Mesh, PartPlace>;
  /** Meshes by `mesh/primitive` of the document; nodes that share a mesh are together. */
  readonly byPrimitive: ReadonlyMap<string, readonly Mesh[]>;
  /** Vertices in the scene, x y z in metres. */
  readonly points: Float32Array;
  readonly box: Box3;
  readonly sphere: Sphere;
}

/** Most points for framing; with more, every nth is kept. */
const MAX_POINTS = 600_000;

/**
 * Loads a model for pictures, from its address or its bytes. It omits unreadable parts and names them on the console.
 * @throws StudioProblem if nothing visible remains
 */
export async function loadProduct(decoders: Decoders, file: string | Uint8Array): Promise<Product> {
  const document = typeof file === 'string' ? await fetchDocument(file) : openDocument(file);
  const materials = createMaterialStore(document, createTextureStore(document, decoders.images));
  try {
    const accessors = createAccessorReader(document, decoders.loadMeshopt);
    const { root, parts, faults } = await buildScene({ document, accessors, draco: decoders.draco }, materials);
    for (const fault of faults) console.warn(`Left out ${fault}`);
    root.updateMatrixWorld(true);
    const shown: Part[] = [];
    for (const part of parts) {
      await breathe();
      if (countTriangles(part.mesh.geometry) > 0 && dropNonFinite(part.mesh)) shown.push(part);
      else part.mesh.removeFromParent();
    }
    if (shown.length === 0) throw createNothingProblem(parts, faults);
    await breathe();
    return setUpProduct(root, shown, materials);
  } catch (error) {
    materials.dispose();
    throw error;
  }
}

function createNothingProblem(parts: readonly Part[], faults: readonly string[]): StudioProblem {
  if (faults.length > 0) {
    return new StudioProblem('picture-geometry-unreadable', STUDIO_PROBLEMS['picture-geometry-unreadable'](faults[0]!));
  }
  return new StudioProblem(
    'picture-nothing-to-see',
    parts.some(({ mesh }) => countTriangles(mesh.geometry) > 0)
      ? STUDIO_PROBLEMS['picture-nothing-to-see'].notFinite
      : STUDIO_PROBLEMS['picture-nothing-to-see'].noTriangles,
  );
}

function setUpProduct(root: Group, parts: readonly Part[], materials: MaterialStore): Product {
  const meshes = parts.map(({ mesh }) => mesh);
  const byPrimitive = new Map<string, Mesh[]>();
  parts.forEach(({ mesh, place }, index) => {
    // A fixed order keeps coplanar and blended parts from changing places between pictures.
    mesh.renderOrder = index + 1;
    mesh.frustumCulled = false;
    const key = `${place.mesh}/${place.primitive}`;
    byPrimitive.set(key, [...(byPrimitive.get(key) ?? []), mesh]);
  });

  const points = collectPoints(meshes);
  const box = new Box3().setFromArray(points as unknown as number[]);
  const sphere = new Sphere();
  box.getCenter(sphere.center);
  let reach = 0;
  const point = new Vector3();
  for (let at = 0; at < points.length; at += 3) {
    reach = Math.max(reach, point.fromArray(points, at).distanceToSquared(sphere.center));
  }
  sphere.radius = Math.max(Math.sqrt(reach), 1e-4);
  return {
    root,
    materials,
    meshes,
    ownMaterials: new Map(meshes.map((mesh) => [mesh, mesh.material as Material])),
    places: new Map(parts.map(({ mesh, place }) => [mesh, place])),
    byPrimitive,
    points,
    box,
    sphere,
  };
}

/** The meshes of some primitives of the document. */
export function listMeshes(
  product: Product,
  parts: readonly { readonly mesh: number; readonly primitive: number }[],
): readonly Mesh[] {
  return parts.flatMap(({ mesh, primitive }) => product.byPrimitive.get(`${mesh}/${primitive}`) ?? []);
}

function countTriangles(geometry: BufferGeometry): number {
  const position = geometry.getAttribute('position');
  if (!position) return 0;
  return Math.floor((geometry.index?.count ?? position.count) / 3);
}

function collectPoints(meshes: readonly Mesh[]): Float32Array {
  const total = meshes.reduce(
    (sum, mesh) => sum + mesh.geometry.getAttribute('position').count * getInstances(mesh),
    0,
  );
  const stride = Math.max(1, Math.ceil(total / MAX_POINTS));
  return bakeAllPositions(meshes, stride);
}

/** Frees all GL resources of the product, in use or not. */
export function disposeProduct({ root, meshes, materials }: Product): void {
  for (const mesh of meshes) {
    mesh.geometry.dispose();
    (mesh as { dispose?(): void }).dispose?.();
    (mesh as Partial<SkinnedMesh>).skeleton?.dispose();
  }
  materials.dispose();
  root.removeFromParent();
}

/** The material of every mesh for one picture, loaded and ready to be assigned at once. */
interface Assignment {
  readonly product: Product;
  readonly materials: ReadonlyMap<Mesh, Material>;
  /** A counter that identifies the product's last assignment. */
  readonly number: number;
}

/**
 * Loads the missing materials of an assignment. Primitives that it does not name keep the file's own material. Nodes
 * that share a mesh change together.
 * @throws StudioProblem `renderer-failed` for a material that the studio file lacks
 */
export async function loadAssignment(product: Product, wanted: readonly AssignedMaterial[]): Promise<Assignment> {
  const number = product.materials.begin();
  const materials = new Map(product.ownMaterials);
  await Promise.all(
    wanted.map(async ({ mesh, primitive, material }) => {
      if (material === null) return;
      if (!product.materials.has(material)) {
        throw new StudioProblem('renderer-failed', STUDIO_PROBLEMS['renderer-failed'].noMaterial(material));
      }
      for (const target of product.byPrimitive.get(`${mesh}/${primitive}`) ?? []) {
        materials.set(target, await product.materials.getFinish(material, target.geometry));
      }
    }),
  );
  return { product, materials, number };
}

export function assignMaterials({ product, materials, number }: Assignment): void {
  for (const [mesh, material] of materials) mesh.material = material;
  product.materials.settle(number);
}
