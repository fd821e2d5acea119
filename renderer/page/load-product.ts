import { Box3, type BufferGeometry, type Group, type Material, type Mesh, type Object3D, Sphere, Vector3 } from 'three';
import type { GLTFParser } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { bakeAllPositions, getInstances } from './bake-positions.ts';
import type { ModelLoader } from './create-loader.ts';
import { listTextures } from './prepare-material.ts';
import { StudioProblem } from './studio-problem.ts';

export interface Product {
  readonly root: Group;
  readonly parser: GLTFParser;
  /** Triangle meshes in the order of the document. */
  readonly meshes: readonly Mesh[];
  /** What each mesh wears as the file gives it. */
  readonly ownMaterials: ReadonlyMap<Mesh, Material>;
  /** Meshes by `mesh/primitive` of the document; instances of one mesh stand together. */
  readonly byPrimitive: ReadonlyMap<string, readonly Mesh[]>;
  readonly failedTextures: ReadonlySet<number>;
  /** Vertices as they stand in the scene, x y z in metres. */
  readonly points: Float32Array;
  readonly box: Box3;
  readonly sphere: Sphere;
}

/** Points kept for framing at most; beyond that every nth is. */
const MAX_POINTS = 600_000;

/** Loads a model for pictures. Lights and cameras of the file are left out: the studio has its own. */
export async function loadProduct(loader: ModelLoader, url: string): Promise<Product> {
  const { gltf, failedTextures } = await loader.load(url);
  const root = gltf.scene;
  const strangers: Object3D[] = [];
  const meshes: Mesh[] = [];
  root.traverse((node) => {
    if ((node as { isLight?: boolean }).isLight || (node as { isCamera?: boolean }).isCamera) strangers.push(node);
    if ((node as Mesh).isMesh && countTriangles((node as Mesh).geometry) > 0) meshes.push(node as Mesh);
  });
  for (const node of strangers) node.removeFromParent();
  if (meshes.length === 0) {
    throw new StudioProblem(
      'picture-nothing-to-see',
      'The model has no triangles in its scene: nothing can be pictured.',
    );
  }
  root.updateMatrixWorld(true);

  const byPrimitive = new Map<string, Mesh[]>();
  meshes.forEach((mesh, index) => {
    // a fixed order keeps coplanar and blended parts from changing places between pictures
    mesh.renderOrder = index + 1;
    mesh.frustumCulled = false;
    const place = gltf.parser.associations.get(mesh) as { meshes?: number; primitives?: number } | undefined;
    if (place?.meshes === undefined) return;
    const key = `${place.meshes}/${place.primitives ?? 0}`;
    byPrimitive.set(key, [...(byPrimitive.get(key) ?? []), mesh]);
  });

  const points = collectPoints(meshes);
  const box = new Box3().setFromArray(points as unknown as number[]);
  if (!Number.isFinite(box.min.x + box.max.x + box.min.y + box.max.y + box.min.z + box.max.z)) {
    throw new StudioProblem('renderer-failed', 'The model has positions that are not numbers.');
  }
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
    parser: gltf.parser,
    meshes,
    ownMaterials: new Map(meshes.map((mesh) => [mesh, mesh.material as Material])),
    byPrimitive,
    failedTextures,
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

/** Frees everything the product holds on the GL side, worn or not. */
export function disposeProduct(product: Product): void {
  const materials = new Set<Material>();
  for (const mesh of product.meshes) {
    mesh.geometry.dispose();
    materials.add(mesh.material as Material);
  }
  for (const material of product.ownMaterials.values()) materials.add(material);
  for (const thing of product.parser.associations.keys()) {
    if ((thing as Material).isMaterial) materials.add(thing as Material);
  }
  for (const material of materials) {
    for (const texture of listTextures(material)) {
      texture.dispose();
      (texture.image as { close?(): void } | undefined)?.close?.();
    }
    material.dispose();
  }
  product.root.removeFromParent();
}
