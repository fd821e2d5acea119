import {
  Box3,
  CustomBlending,
  DoubleSide,
  FrontSide,
  type Material,
  Matrix4,
  type Mesh,
  MeshBasicMaterial,
  Object3D,
  OneMinusSrcAlphaFactor,
  ReplaceStencilOp,
  type Side,
  Vector3,
  ZeroFactor,
} from 'three';
import type { LayerContent, LayersShot } from '../../server/core/ports/renderer.ts';
import { intersect, type Tile, unite } from '../tiles.ts';
import { bakePositions } from './build-geometry.ts';
import { SUBSAMPLES } from './camera.ts';
import { NO_OWNER, OTHER_OWNER, SPLIT_LIMIT } from './layer-sums.ts';
import { listMeshes, type Product } from './load-product.ts';
import type { StudioScene } from './studio-scene.ts';
import { keepDepthOf } from './studio-shading.ts';

/** A raw layer of a box of the picture; see `RawLayer`. */
export interface TakenLayer {
  /** The box of the whole layer. */
  readonly whole: Tile;
  /** Its part in the tile. */
  readonly box: Tile;
  readonly bytes: Uint8Array;
}

type LayersOrder = Pick<LayersShot, 'layers' | 'assignments' | 'quality' | 'widthPx' | 'heightPx'> & {
  readonly tile?: Tile;
};

interface Wanted {
  readonly shows: LayerContent;
  readonly meshes: ReadonlySet<Mesh>;
  /** The box of the picture that it may cover. */
  readonly whole: Tile;
  /** The part of the box in the tile. */
  readonly box: Tile;
}

/**
 * Takes layers of a product that is set up with its materials. The shadow and all solid parts come from one drawing, in
 * which each part marks its pixels and blended parts are held out. Layers with blended parts are taken one by one, with
 * everything else held out.
 */
export function takeLayers(
  studio: StudioScene,
  holdouts: Holdouts,
  product: Product,
  order: LayersOrder,
): readonly TakenLayer[] {
  const { widthPx, heightPx, quality } = order;
  const wanted = order.layers.map((shows) => toWanted(studio, product, order, shows));
  const pixels = new Map<Wanted, Uint8Array>();
  const assigned = new Map(product.meshes.map((mesh) => [mesh, mesh.material as Material]));
  // The same tiles as for the picture. With others, coplanar parts without a common corner would show through in other
  // places.
  const { tile = { left: 0, top: 0, widthPx, heightPx } } = order;
  const isBlended = (mesh: Mesh) => assigned.get(mesh)!.transparent;
  function takeAtOnce(split: NonNullable<StudioScene['split']>, layers: readonly Wanted[]): void {
    const marked = markPixels(assigned, layers, holdouts);
    const hadFloor = studio.catcher.mesh.visible;
    studio.catcher.mesh.visible &&= layers.some(({ shows }) => shows === 'ground');
    try {
      const boxes = layers.map(({ box }) => moveInto(tile, box));
      if (unite(boxes).widthPx === 0) return;
      studio.setSize(widthPx, heightPx, tile);
      split.begin(boxes.map((box, place) => ({ box, owner: marked.owners[place]! })));
      for (let index = 0; index < SUBSAMPLES[quality]; index++) {
        studio.light.use(index);
        split.addSubsample(index);
      }
      layers.forEach((layer, place) => {
        if (layer.box.widthPx > 0) pixels.set(layer, split.read(place));
      });
    } finally {
      marked.undo();
      studio.catcher.mesh.visible = hadFloor;
    }
  }

  function takeOne(layer: Wanted): void {
    for (const [mesh, material] of assigned) mesh.material = layer.meshes.has(mesh) ? material : holdouts.of(material);
    studio.catcher.holdOut(layer.shows !== 'ground');
    if (layer.box.widthPx === 0) return;
    const box = moveInto(tile, layer.box);
    studio.setSize(widthPx, heightPx, tile);
    for (let index = 0; index < SUBSAMPLES[quality]; index++) {
      studio.light.use(index);
      studio.addSubsample(index, box);
    }
    pixels.set(layer, studio.accumulator.readLayer(box));
  }

  const split = wanted.length <= SPLIT_LIMIT ? studio.split : null;
  const [solid, blended] = [true, false].map((asked) =>
    wanted.filter(({ meshes }) => asked === (split !== null && ![...meshes].some(isBlended))),
  );
  try {
    if (split && solid!.length > 0) takeAtOnce(split, solid!);
    for (const layer of blended!) takeOne(layer);
  } finally {
    // The check for failed programs searches the product's materials.
    for (const [mesh, material] of assigned) mesh.material = material;
  }
  return wanted.map((layer) => ({ whole: layer.whole, box: layer.box, bytes: pixels.get(layer) ?? new Uint8Array(0) }));
}

function toWanted(studio: StudioScene, product: Product, order: LayersOrder, shows: LayerContent): Wanted {
  const { widthPx, heightPx, assignments } = order;
  const meshes = listShown(product, assignments, shows);
  const whole =
    shows === 'ground'
      ? { left: 0, top: 0, widthPx, heightPx }
      : unite([...meshes].map((mesh) => studio.getVisibleBox(getBox(mesh, studio.turntable.matrixWorld), order)));
  return { shows, meshes, whole, box: order.tile ? intersect(whole, order.tile) : whole };
}

/** A box in the pixels of a tile; empty if it is empty. */
function moveInto(tile: Tile, box: Tile): Tile {
  return box.widthPx === 0 ? box : { ...box, left: box.left - tile.left, top: box.top - tile.top };
}

/**
 * Makes every solid part write the owner of its pixels to the stencil. Parts of no layer are held out, and so are blended
 * parts, which leave their transparent share of the layers behind them.
 */
function markPixels(
  assigned: ReadonlyMap<Mesh, Material>,
  wanted: readonly Wanted[],
  holdouts: Holdouts,
): { readonly owners: readonly number[]; undo(): void } {
  const owners = wanted.map(({ shows }, place) => (shows === 'ground' ? NO_OWNER : place + 1));
  const marking = new Set<Material>();
  const marked: Mesh[] = [];
  for (const [mesh, material] of assigned) {
    const place = wanted.findIndex(({ meshes }) => meshes.has(mesh));
    mesh.material = place < 0 ? holdouts.of(material) : material;
    if (material.transparent) continue;
    marked.push(mesh);
    const owner = place < 0 ? OTHER_OWNER : owners[place]!;
    // Several parts may share one material.
    mesh.onBeforeRender = (_renderer, _scene, _camera, _geometry, material) => {
      material.stencilRef = owner;
    };
    marking.add(mesh.material as Material);
  }
  for (const material of marking) {
    material.stencilWrite = true;
    material.stencilZPass = ReplaceStencilOp;
  }
  return {
    owners,
    undo() {
      for (const material of marking) material.stencilWrite = false;
      for (const mesh of marked) mesh.onBeforeRender = Object3D.prototype.onBeforeRender;
    },
  };
}

function listShown(product: Product, assignments: LayersOrder['assignments'], shows: LayerContent): ReadonlySet<Mesh> {
  if (shows === 'ground') return new Set();
  if (shows !== 'rest') return new Set(listMeshes(product, shows));
  const withFinish = new Set(listMeshes(product, assignments));
  return new Set(product.meshes.filter((mesh) => !withFinish.has(mesh)));
}

/** Boxes of meshes on the unturned turntable. */
const boxes = new WeakMap<Mesh, Box3>();

function getBox(mesh: Mesh, turned: Matrix4): Box3 {
  let box = boxes.get(mesh);
  if (!box) {
    box = new Box3();
    const points = bakePositions(mesh, new Matrix4().copy(turned).invert());
    const point = new Vector3();
    for (let at = 0; at < points.length; at += 3) box.expandByPoint(point.fromArray(points, at));
    boxes.set(mesh, box);
  }
  return box;
}

/** Materials for parts that are held out of a layer. */
interface Holdouts {
  /** The holdout of a material: it covers the same pixels and adds nothing. */
  of(material: Material): Material;
  /** Disposes those that use a product's maps. */
  drop(): void;
  dispose(): void;
}

/**
 * Holdouts write only coverage. A solid one removes what is behind it; a transparent one keeps the same share as in the
 * picture. Side, passes, alpha test with its map, and depth writing are those of the material. So is transparency,
 * which keeps its place in the drawing order.
 */
export function createHoldouts(): Holdouts {
  const made = new Map<string, Material>();
  // Solid ones use no map and stay, because a program lives as long as a material that uses it.
  const plain = new Map<Side, Material>([FrontSide, DoubleSide].map((side) => [side, make({ side } as Material)]));

  return {
    of(material) {
      if (!hasHoles(material)) return plain.get(material.side) ?? remember(made, material);
      return remember(made, material);
    },
    drop() {
      for (const holdout of made.values()) holdout.dispose();
      made.clear();
    },
    dispose() {
      for (const holdout of [...made.values(), ...plain.values()]) holdout.dispose();
    },
  };
}

function hasHoles(material: Material): boolean {
  return material.transparent || material.alphaTest > 0;
}

function remember(made: Map<string, Material>, material: Material): Material {
  const { map } = material as MeshBasicMaterial;
  const key = [
    material.side,
    material.transparent,
    material.forceSinglePass,
    material.depthWrite,
    material.depthTest,
    ...(hasHoles(material) ? [map?.uuid, material.opacity, material.alphaTest, material.vertexColors] : []),
  ].join();
  let holdout = made.get(key);
  if (!holdout) {
    holdout = make(material);
    made.set(key, holdout);
  }
  return holdout;
}

function make(material: Partial<Material>): Material {
  const { side = FrontSide, transparent = false, depthWrite = true, depthTest = true } = material;
  const holdout = new MeshBasicMaterial({
    side,
    transparent,
    depthWrite,
    depthTest,
    color: 0x000000,
    toneMapped: false,
    blending: CustomBlending,
    blendSrc: ZeroFactor,
    blendDst: transparent ? OneMinusSrcAlphaFactor : ZeroFactor,
  });
  holdout.forceSinglePass = material.forceSinglePass ?? holdout.forceSinglePass;
  if (transparent || (material.alphaTest ?? 0) > 0) {
    holdout.map = (material as MeshBasicMaterial).map;
    holdout.opacity = material.opacity ?? 1;
    holdout.alphaTest = material.alphaTest ?? 0;
    holdout.vertexColors = material.vertexColors ?? false;
  }
  keepDepthOf(holdout);
  return holdout;
}
