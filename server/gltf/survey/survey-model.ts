import { PIECE_LIMIT } from '../../core/ports/models.ts';
import {
  DAMAGE_LIMIT,
  type NeutralDetail,
  type Piece,
  SURVEY_FORMAT,
  type Survey,
  type SurveyedImage,
  type SurveyedMaterial,
  type SurveyedPrimitive,
  type ValidatorResult,
} from '../../core/product/survey.ts';
import { chooseFinishUvs } from '../document/choose-finish-uvs.ts';
import { decodeGeometry } from '../document/decode-geometry.ts';
import { isKnownExtension } from '../document/extensions.ts';
import { type GltfJson, listVariantNames, readName } from '../document/json.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import {
  bestSource,
  listAnimatedMaterials,
  listTextureUses,
  readFactors,
  texCoordOf,
} from '../document/read-material.ts';
import { isMirror, listSceneNodes, type SceneNode } from '../document/world-matrices.ts';
import { measureBox } from '../geometry/measure-box.ts';
import { checkOrientation, listInwardPieces } from '../geometry/orientation/check-orientation.ts';
import { colourPieces } from '../geometry/pieces/colour-pieces.ts';
import { type FoundPieces, findPieces } from '../geometry/pieces/find-pieces.ts';
import { type PlacedScene, placeScene } from '../geometry/place-scene.ts';
import type { Model } from '../mend/read-model.ts';
import { measureFaults } from './geometry/measure-faults.ts';
import { measurePieces } from './geometry/measure-pieces.ts';
import { measureTransforms } from './geometry/measure-transforms.ts';
import { countRepeats, measureDetails, measureReliefs } from './images/measure-material-maps.ts';
import { surveyImages } from './images/survey-images.ts';
import { surveyContent } from './survey-content.ts';
import { surveyPrimitives } from './survey-primitives.ts';
import { groupDensities } from './uv/group-densities.ts';
import { measureGrain } from './uv/measure-grain.ts';
import { UvLayoutMeasure } from './uv/measure-uv-layout.ts';
import { type PlacedUvs, placeFinishUvs } from './uv/place-finish-uvs.ts';

const NAMED_NODES = 20;

/**
 * Surveys a model whose structure has been checked.
 * @throws Problem `image-too-large`, `model-too-complex`
 */
export async function surveyModel(
  container: Model,
  bin: Buffer | null,
  validator: ValidatorResult,
): Promise<{ readonly survey: Survey; readonly pieces: readonly Piece[] }> {
  const { json } = container;
  const model: LoadedModel = { ...(await decodeGeometry({ json, bin })), cache: new Map() };
  const nodes = listSceneNodes(json);
  const byMesh = groupByMesh(json, nodes);
  const finishUvs = chooseFinishUvs(json);
  const { faults, lost } = measureFaults(model);
  const primitives = surveyPrimitives(model, nodes, byMesh, finishUvs, lost);
  const images = await surveyImages(model);
  const { causes, ...content } = surveyContent(container, nodes, images);
  const { box, exact } = measureBox(model, nodes);
  const drawn = primitives.filter((primitive) => primitive.uses > 0);
  const imageBytes = images.reduce((sum, image) => sum + image.bytes, 0);
  const used = json.extensionsUsed ?? [];
  const scene = placeScene(model, nodes);
  const found = findPieces(model, nodes, scene);
  const pieces = await colourPieces(model, found);
  const placed = placeFinishUvs(model, scene, finishUvs);
  const survey: Survey = {
    format: SURVEY_FORMAT,
    transforms: measureTransforms(json, nodes),
    ...content,
    faults,
    inward: listInwardPieces(found, checkOrientation(model, nodes, scene, found)),
    generator: readName(json.asset.generator) || null,
    bytes: container.fileBytes,
    size: box && { widthMm: span(box, 0), depthMm: span(box, 2), heightMm: span(box, 1) },
    box,
    sizeIsExact: exact,
    counts: {
      nodes: json.nodes?.length ?? 0,
      meshes: json.meshes?.length ?? 0,
      primitives: primitives.length,
      triangles: drawn.reduce((sum, primitive) => sum + primitive.triangles * primitive.uses, 0),
      draws: drawn.reduce((sum, primitive) => sum + primitive.uses, 0),
      materials: json.materials?.length ?? 0,
      textures: json.textures?.length ?? 0,
      images: images.length,
      animations: json.animations?.length ?? 0,
      cameras: json.cameras?.length ?? 0,
      lights: listLength(json.extensions?.KHR_lights_punctual?.lights),
      pieces: found.count,
      skins: json.skins?.length ?? 0,
    },
    materials: listMaterials(model, scene, nodes, primitives, byMesh, found, images, placed, {
      details: await measureDetails(model),
      reliefs: await measureReliefs(model, placed.frames),
    }),
    bareLay: placed.frames.get(null)!.frame,
    primitives,
    images,
    sharedMeshes: [...byMesh]
      .filter(([, users]) => users.length > 1)
      .map(([mesh, users]) => ({ mesh, name: readName(json.meshes![mesh]!.name), nodes: users.length })),
    variants: listVariantNames(json),
    extensions: {
      used,
      required: json.extensionsRequired ?? [],
      known: used.filter(isKnownExtension),
      unknown: used.filter((name) => !isKnownExtension(name)),
    },
    weight: {
      json: container.jsonBytes,
      images: imageBytes,
      geometry: Math.max(0, (container.bin?.length ?? 0) - imageBytes),
      causes,
    },
    damages: container.damages.slice(0, DAMAGE_LIMIT),
    validator,
  };
  return { survey, pieces: listLargest(pieces) };
}

function groupByMesh(json: GltfJson, nodes: readonly SceneNode[]): Map<number, SceneNode[]> {
  const byMesh = new Map<number, SceneNode[]>();
  for (const item of nodes) {
    const mesh = json.nodes![item.node]!.mesh;
    if (mesh === undefined) continue;
    const users = byMesh.get(mesh);
    if (users) users.push(item);
    else byMesh.set(mesh, [item]);
  }
  return byMesh;
}

/** Measurements of maps, by material. */
interface MapMeasures {
  readonly details: ReadonlyMap<number, NeutralDetail>;
  readonly reliefs: Awaited<ReturnType<typeof measureReliefs>>;
}

function listMaterials(
  model: LoadedModel,
  scene: PlacedScene,
  nodes: readonly SceneNode[],
  primitives: readonly SurveyedPrimitive[],
  byMesh: ReadonlyMap<number, readonly SceneNode[]>,
  found: FoundPieces,
  images: readonly SurveyedImage[],
  placed: PlacedUvs,
  { details, reliefs }: MapMeasures,
): SurveyedMaterial[] {
  const { json } = model;
  const { covers } = found;
  const uvs = measureUvs(scene, placed);
  const { grains, densities } = measureDirections(model, scene, nodes, found, placed);
  const animated = listAnimatedMaterials(json);
  const byMaterial = new Map<number | null, SurveyedPrimitive[]>();
  for (const primitive of primitives) {
    if (primitive.uses === 0) continue;
    const group = byMaterial.get(primitive.material);
    if (group) group.push(primitive);
    else byMaterial.set(primitive.material, [primitive]);
  }
  return (json.materials ?? []).map((material, index) => {
    const own = byMaterial.get(index) ?? [];
    const nodes = new Set(
      own
        .flatMap((primitive) => byMesh.get(primitive.mesh) ?? [])
        .map(({ node }) => readName(json.nodes![node]!.name) || `node ${node}`),
    );
    const measured = placed.frames.get(index)!;
    const maps = listTextureUses(material).map(({ use, info }) => ({
      use,
      texture: info.index,
      image: bestSource(json.textures![info.index]),
      texCoord: texCoordOf(info),
    }));
    const sides = maps.flatMap(({ image }) => {
      const { widthPx, heightPx } = images[image ?? -1] ?? { widthPx: null, heightPx: null };
      return widthPx === null || heightPx === null ? [] : [Math.max(widthPx, heightPx)];
    });
    const uv = uvs.get(index)?.describe(measured, sides.length > 0 ? Math.max(...sides) : null) ?? null;
    const relief = reliefs.get(index);
    return {
      index,
      name: readName(material.name),
      primitives: own.length,
      triangles: own.reduce((sum, primitive) => sum + primitive.triangles, 0),
      nodes: [...nodes].slice(0, NAMED_NODES),
      maps,
      alphaMode: material.alphaMode ?? 'OPAQUE',
      doubleSided: material.doubleSided ?? false,
      animated: animated.has(index),
      lay: measured.frame,
      metresPerUv: measured.metresPerUv,
      areaM2: covers.get(index)?.areaM2 ?? 0,
      pieces: covers.get(index)?.pieces ?? 0,
      factors: readFactors(material),
      uv,
      neutralDetail: details.get(index) ?? null,
      grain: grains.get(index) ?? null,
      relief: relief ? countRepeats(relief, uv?.bounds ?? null) : null,
      densities: densities.get(index) ?? [],
    };
  });
}

/** Measures how finishes are placed in the scene: their direction by material, and their density by material and piece. */
function measureDirections(
  model: LoadedModel,
  scene: PlacedScene,
  nodes: readonly SceneNode[],
  { pieces, parts }: FoundPieces,
  placed: PlacedUvs,
) {
  const uvs = placed.uvs.map((own) => own?.onFinish ?? null);
  const measures = measurePieces(scene, parts, uvs, pieces.length);
  // the transform of a skinned node does not apply
  const mirrored = nodes.filter(({ node, matrix }) => model.json.nodes![node]!.skin === undefined && isMirror(matrix));
  const grains = measureGrain(scene, parts, uvs, measures, new Set(mirrored.map(({ node }) => node)));
  return { grains, densities: groupDensities(pieces, measures) };
}

/** Measures the UV layout of each material; materials without UVs are left out. */
function measureUvs({ parts, points }: PlacedScene, { uvs }: PlacedUvs): Map<number | null, UvLayoutMeasure> {
  const measures = new Map<number | null, UvLayoutMeasure>();
  const seen = new Set<string>();
  parts.forEach((part, index) => {
    const own = uvs[index];
    if (!own) return;
    const measure = measures.get(part.material) ?? new UvLayoutMeasure();
    measures.set(part.material, measure);
    const primitive = `${part.mesh}/${part.primitive}`;
    measure.add(part, points, own, !seen.has(primitive));
    seen.add(primitive);
  });
  return measures;
}

function listLargest(pieces: readonly Piece[]): Piece[] {
  return [...pieces].sort((a, b) => b.areaM2 - a.areaM2 || (a.piece < b.piece ? -1 : 1)).slice(0, PIECE_LIMIT);
}

function span(box: { readonly min: readonly number[]; readonly max: readonly number[] }, axis: number): number {
  // rounds to a tenth of a micrometre, which removes the noise of single precision
  return Math.round((box.max[axis]! - box.min[axis]!) * 1e7) / 1e4;
}

function listLength(value: unknown): number {
  return Array.isArray(value) ? value.length : 0;
}
