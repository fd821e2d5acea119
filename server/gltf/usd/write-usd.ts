import type { UsdRequest, UsdWritten } from '../../core/delivery/usd-form.ts';
import { Problem } from '../../core/problems.ts';
import { USD_PROBLEMS } from '../../core/texts/problems/usd.ts';
import { PrimNames } from '../../usd/prim-names.ts';
import { quote } from '../../usd/usda-text.ts';
import { PackageTooLarge, PackageWriter } from '../../usd/write-package.ts';
import { readWholeFile } from '../document/container.ts';
import { decodeGeometry } from '../document/decode-geometry.ts';
import type { GltfJson, PrimitiveJson } from '../document/json.ts';
import { VERTEX_LIMIT } from '../document/limits.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import { listSceneNodes, type Matrix } from '../document/world-matrices.ts';
import { readModel } from '../mend/read-model.ts';
import { type KnownSurface, listPlacements, PrimvarNames, Surfaces } from './collect-surfaces.ts';
import { findSlot, listMaterials, type Material } from './find-slots.ts';
import { type Draw, listDraws } from './list-draws.ts';
import { placeShape } from './place-shape.ts';
import type { Placement } from './plan-surface.ts';
import { writeShapePrim } from './shape-prim.ts';
import { type Stand, standProduct } from './stand-product.ts';
import { writeSurfacePrim } from './surface-prim.ts';
import { VariantSets, writeVariantSets } from './variant-sets.ts';

const ROOT = '/Product';
const SCOPE = `${ROOT}/Materials`;

/** A draw with its prim and the surfaces that it may have. */
interface Prim {
  readonly draw: Draw;
  readonly name: string;
  /** Bound for good; null where variants bind one. */
  readonly bound: KnownSurface | null;
  readonly surfaces: readonly KnownSurface[];
}

/**
 * Writes a delivered GLB as a USDZ package: one variant, or all with a variant set for each slot. Geometry is placed in metres, in
 * its pose, without transforms. The same request gives the same bytes.
 * @throws Problem `usd-too-large`, `usd-nothing-to-show`
 */
export async function writeUsd(request: UsdRequest): Promise<UsdWritten> {
  const { json, bin } = await readModel(request.path);
  const file = readWholeFile(request.path);
  const loaded: LoadedModel = { json, bin: bin && file.subarray(bin.offset, bin.offset + bin.length) };
  const model = await decodeGeometry(loaded, 'all');
  const nodes = listSceneNodes(json);
  const worlds = new Map(nodes.map(({ node, matrix }) => [node, matrix]));
  const draws = listDraws(model, nodes);
  if (countVertices(json, draws) > VERTEX_LIMIT) throw tooLarge();
  const stand = standProduct(model, draws, worlds, request.mount);
  if (!stand) throw new Problem('usd-nothing-to-show', { detail: USD_PROBLEMS['usd-nothing-to-show'] });
  const surfaces = new Surfaces(model, SCOPE);
  if (isPosed(json)) surfaces.lose('pose');
  try {
    const { prims, sets } = await listPrims(model, request, draws, surfaces);
    return writePackage(request, model, { prims, sets, surfaces, stand, worlds });
  } catch (error) {
    throw error instanceof PackageTooLarge ? tooLarge(error) : error;
  }
}

function tooLarge(cause?: unknown): Problem {
  return new Problem('usd-too-large', { detail: USD_PROBLEMS['usd-too-large'], ...(cause !== undefined && { cause }) });
}

function countVertices({ accessors }: GltfJson, draws: readonly Draw[]): number {
  return draws.reduce((sum, { primitive }) => sum + (accessors?.[primitive.attributes.POSITION ?? -1]?.count ?? 0), 0);
}

const isPosed = ({ animations = [], skins = [], meshes = [] }: GltfJson) =>
  animations.length > 0 ||
  skins.length > 0 ||
  meshes.some(({ primitives }) => primitives.some(({ targets }) => targets));

async function listPrims(
  model: LoadedModel,
  { content }: UsdRequest,
  draws: readonly Draw[],
  surfaces: Surfaces,
): Promise<{ readonly prims: readonly Prim[]; readonly sets: VariantSets | null }> {
  const names = new PrimNames();
  const prims: Prim[] = [];
  const sets = content.kind === 'product' ? new VariantSets(content.slots, content.rows, content.first) : null;
  const known = new Map<PrimitiveJson, Omit<Prim, 'draw' | 'name'> & { bind?: (prim: string) => void }>();
  for (const draw of draws) {
    const name = names.take(draw.name, 'Part');
    let choice = known.get(draw.primitive);
    if (!choice) {
      choice = await chooseSurfaces(model.json, draw.primitive, content, surfaces, sets);
      known.set(draw.primitive, choice);
    }
    choice.bind?.(name);
    prims.push({ draw, name, bound: choice.bound, surfaces: choice.surfaces });
  }
  return { prims, sets };
}

async function chooseSurfaces(
  json: GltfJson,
  primitive: PrimitiveJson,
  content: UsdRequest['content'],
  surfaces: Surfaces,
  sets: VariantSets | null,
): Promise<Omit<Prim, 'draw' | 'name'> & { bind?: (prim: string) => void }> {
  const take = (material: Material) => surfaces.take(material, primitive.attributes.COLOR_0 !== undefined);
  const fix = async (material: Material) => {
    const bound = await take(material);
    return { bound, surfaces: [bound] };
  };
  if (content.kind === 'variant') return fix(listMaterials(primitive, content.variant + 1)[content.variant]!);
  const slot = findSlot(json, primitive, content.slots, content.rows);
  if (slot === 'mixed') surfaces.lose('mixed-slots');
  if (slot === null || slot === 'mixed')
    return fix(listMaterials(primitive, content.rows.length)[content.first] ?? null);
  const byChoice = new Map<string, KnownSurface>();
  for (const [choice, material] of slot.materials) byChoice.set(choice, await take(material));
  return {
    bound: null,
    surfaces: [...new Set(byChoice.values())],
    bind: (prim) => sets!.bind(slot.slot, prim, byChoice),
  };
}

interface Written {
  readonly prims: readonly Prim[];
  readonly sets: VariantSets | null;
  readonly surfaces: Surfaces;
  readonly stand: Stand;
  readonly worlds: ReadonlyMap<number, Matrix>;
}

function writePackage(request: UsdRequest, model: LoadedModel, parts: Written): UsdWritten {
  const { surfaces, stand, sets } = parts;
  const writer = new PackageWriter(request.targetPath);
  const counted = { triangles: 0 };
  try {
    writer.add('product.usda', writeLayer(request, model, parts, counted));
    for (const { name, bytes } of surfaces.textures) writer.add(name, [bytes]);
    return {
      ...writer.finish(),
      losses: surfaces.losses,
      box: stand.box,
      triangles: counted.triangles,
      textures: surfaces.textures.length,
      sets: sets?.list() ?? [],
    };
  } catch (error) {
    writer.abandon();
    throw error;
  }
}

function* writeLayer(
  { title, mount, content }: UsdRequest,
  model: LoadedModel,
  { prims, sets, surfaces, stand, worlds }: Written,
  counted: { triangles: number },
): Generator<string> {
  yield '#usda 1.0\n(\n    defaultPrim = "Product"\n    metersPerUnit = 1\n    upAxis = "Y"\n)\n\n';
  yield 'def Xform "Product" (\n';
  // a viewer that looks for a place in the room looks for a floor, or for a wall
  const plane = mount === 'wall' ? 'vertical' : mount === 'ceiling' ? null : 'horizontal';
  if (plane) yield '    prepend apiSchemas = ["Preliminary_AnchoringAPI"]\n';
  yield `    assetInfo = {\n        string name = ${quote(title)}\n    }\n`;
  if (sets) yield sets.writeMetadata();
  yield `    displayName = ${quote(title)}\n    kind = "component"\n)\n{\n`;
  if (plane) {
    yield '    uniform token preliminary:anchoring:type = "plane"\n';
    yield `    uniform token preliminary:planeAnchoring:alignment = "${plane}"\n`;
  }
  // in one file for all variants, the UVs of a place have one name; in a file of one, each material begins with "st"
  const shared = content.kind === 'product' ? new PrimvarNames() : null;
  const namesOf = new Map(surfaces.all.map((known) => [known, shared ?? new PrimvarNames()]));
  yield '\n    def Scope "Materials"\n    {\n';
  for (const known of surfaces.all) {
    const { surface, path, name } = known;
    const find = (placement: Placement) => namesOf.get(known)!.take(placement);
    for (const placement of listPlacements(surface)) find(placement);
    const lines = writeSurfacePrim(surface, path, name, (map) => surfaces.findFile(map), find);
    yield lines.map((line) => (line ? `        ${line}\n` : '\n')).join('');
  }
  yield '    }\n\n    def Xform "Geometry"\n    {\n';
  for (const { draw, name, bound, surfaces: own } of prims) {
    const shape = placeShape(model, draw, worlds, stand.origin);
    if (!shape) {
      // variants may name the prim
      yield `        def Xform "${name}"\n        {\n        }\n`;
      continue;
    }
    if (shape.kind === 'triangles') counted.triangles += shape.corners.length / 3;
    const placements = new Map<string, Placement>();
    for (const known of own) {
      for (const placement of listPlacements(known.surface))
        placements.set(namesOf.get(known)!.take(placement), placement);
    }
    yield* writeShapePrim(model, draw, shape, {
      name,
      doubleSided: own.some(({ surface }) => surface.doubleSided),
      material: bound?.path ?? null,
      placements,
      tint: own.find(({ surface }) => surface.tint)?.surface.tint ?? null,
    });
  }
  yield '    }\n';
  if (sets) yield* writeVariantSets(sets);
  yield '}\n';
}
