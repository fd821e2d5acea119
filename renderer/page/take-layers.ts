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
import { bakePositions } from './build-geometry.ts';
import { SUBSAMPLES } from './camera.ts';
import { NO_OWNER, OTHER_OWNER, SPLIT_LIMIT } from './layer-sums.ts';
import { listMeshes, type Product } from './load-product.ts';
import type { StudioScene } from './studio-scene.ts';
import { keepDepthOf } from './studio-shading.ts';
import { intersect, listTiles, placeTile, type Tile, unite } from './tiles.ts';

/** A layer as it was taken, of a box of the picture: see `RawLayer`. */
export interface TakenLayer {
  readonly box: Tile;
  readonly bytes: Uint8Array;
}

type LayersOrder = Pick<LayersShot, 'layers' | 'dressing' | 'quality' | 'widthPx' | 'heightPx'> & {
  readonly tilePx: number;
};

interface Wanted {
  readonly shows: LayerContent;
  readonly meshes: ReadonlySet<Mesh>;
  /** What of the picture it may cover. */
  readonly box: Tile;
  readonly bytes: Uint8Array;
}

/**
 * Takes layers of a product that is set up and wears its dressing. Ground and solid parts come out of one drawing of the
 * product, in which each part marks its pixels and what is blended is held out; layers with blended parts are taken one by
 * one, everything else held out.
 */
export function takeLayers(
  studio: StudioScene,
  holdouts: Holdouts,
  product: Product,
  order: LayersOrder,
): readonly TakenLayer[] {
  const { widthPx, heightPx, quality } = order;
  const wanted = order.layers.map((shows) => toWanted(studio, product, order, shows));
  const assigned = new Map(product.meshes.map((mesh) => [mesh, mesh.material as Material]));
  // the tiles of the whole picture: coplanar parts that share no corner come through in other places in others
  const tiles = listTiles(widthPx, heightPx, order.tilePx);
  const isBlended = (mesh: Mesh) => assigned.get(mesh)!.transparent;
  const plane = ({ widthPx, heightPx }: Tile) => widthPx * heightPx * 4;
  const keep = ({ box, bytes }: Wanted, tile: Tile, piece: Tile, pixels: Uint8Array) => {
    const place = { ...piece, left: tile.left + piece.left - box.left, top: tile.top + piece.top - box.top };
    for (const index of [0, 1]) {
      const from = index * plane(piece);
      placeTile(bytes, box.widthPx, index * plane(box), place, pixels.subarray(from, from + plane(piece)));
    }
  };

  function takeAtOnce(split: NonNullable<StudioScene['split']>, layers: readonly Wanted[]): void {
    const marked = markPixels(assigned, layers, holdouts);
    const hadFloor = studio.catcher.mesh.visible;
    studio.catcher.mesh.visible &&= layers.some(({ shows }) => shows === 'ground');
    try {
      for (const tile of tiles) {
        const boxes = layers.map(({ box }) => cutOut(box, tile));
        if (unite(boxes).widthPx === 0) continue;
        studio.setSize(widthPx, heightPx, tile);
        split.begin(boxes.map((box, place) => ({ box, owner: marked.owners[place]! })));
        for (let index = 0; index < SUBSAMPLES[quality]; index++) {
          studio.light.use(index);
          split.addSubsample(index);
        }
        layers.forEach((layer, place) => {
          keep(layer, tile, boxes[place]!, split.read(place));
        });
      }
    } finally {
      marked.undo();
      studio.catcher.mesh.visible = hadFloor;
    }
  }

  function takeOne(layer: Wanted): void {
    for (const [mesh, material] of assigned) mesh.material = layer.meshes.has(mesh) ? material : holdouts.of(material);
    studio.catcher.holdOut(layer.shows !== 'ground');
    for (const tile of tiles) {
      const box = cutOut(layer.box, tile);
      if (box.widthPx === 0) continue;
      studio.setSize(widthPx, heightPx, tile);
      for (let index = 0; index < SUBSAMPLES[quality]; index++) {
        studio.light.use(index);
        studio.addSubsample(index, box);
      }
      keep(layer, tile, box, studio.accumulator.readLayer(box));
    }
  }

  const split = wanted.length <= SPLIT_LIMIT ? studio.split : null;
  const [solid, blended] = [true, false].map((asked) =>
    wanted.filter(({ meshes }) => asked === (split !== null && ![...meshes].some(isBlended))),
  );
  try {
    if (split && solid!.length > 0) takeAtOnce(split, solid!);
    for (const layer of blended!) takeOne(layer);
  } finally {
    // a program that failed is looked for among what the product wears
    for (const [mesh, material] of assigned) mesh.material = material;
  }
  return wanted.map(({ box, bytes }) => ({ box, bytes }));
}

function toWanted(studio: StudioScene, product: Product, order: LayersOrder, shows: LayerContent): Wanted {
  const { widthPx, heightPx, dressing } = order;
  const meshes = listShown(product, dressing, shows);
  const box =
    shows === 'ground'
      ? { left: 0, top: 0, widthPx, heightPx }
      : unite([...meshes].map((mesh) => studio.see(getBox(mesh, studio.turntable.matrixWorld), order)));
  return { shows, meshes, box, bytes: new Uint8Array(box.widthPx * box.heightPx * 8) };
}

/** A box of the picture in a tile's own pixels. */
function cutOut(box: Tile, tile: Tile): Tile {
  const piece = intersect(box, tile);
  return { ...piece, left: piece.left - tile.left, top: piece.top - tile.top };
}

/**
 * Lets every solid part say by the stencil whose its pixels are; parts of no layer are held out, and so is what is blended,
 * which leaves of the layers behind it what it lets through.
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
    // several parts may wear one material
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

function listShown(product: Product, dressing: LayersOrder['dressing'], shows: LayerContent): ReadonlySet<Mesh> {
  if (shows === 'ground') return new Set();
  if (shows !== 'rest') return new Set(listMeshes(product, shows));
  const dressed = new Set(listMeshes(product, dressing));
  return new Set(product.meshes.filter((mesh) => !dressed.has(mesh)));
}

/** Where meshes lie on the turntable, whichever way it is turned. */
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

/** Makes what parts wear while they are held out of a layer. */
interface Holdouts {
  /** The holdout of a material: covers what it covers, and adds nothing. */
  of(material: Material): Material;
  /** Forgets those that read a product's maps. */
  drop(): void;
  dispose(): void;
}

/**
 * Holdouts write coverage alone: what is solid wipes what lies behind it, what is see-through leaves the share of it that
 * it would leave in the picture. Side, passes, alpha test with its map, and writing of depth are those of the material;
 * whether it is see-through too, so that it is drawn at the same point of the order.
 */
export function createHoldouts(): Holdouts {
  const made = new Map<string, Material>();
  // solid ones read no map and stay: a program lives as long as a material that uses it
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
