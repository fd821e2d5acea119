import { UVS_IN_METRES } from '../../server/core/delivery/repeat-transform.ts';
import { KEEP_ALL, type Slot } from '../../server/core/product/slot.ts';
import { SURVEY_FORMAT, type Survey, type SurveyedPrimitive } from '../../server/core/product/survey.ts';

/** A primitive in a test: its material, and its differences from a plain part with UVs. */
type GivenPrimitive = { readonly material: number | null } & Partial<SurveyedPrimitive>;

/** A survey without a file: material names, and the primitives of each mesh. */
export function makeSurvey(
  materials: readonly string[],
  meshes: readonly (readonly GivenPrimitive[])[],
  size: Survey['size'] = null,
): Survey {
  const none = { count: 0, first: [] };
  return {
    format: SURVEY_FORMAT,
    transforms: { unbaked: none, negative: none, uneven: none },
    hidden: none,
    scenesWithChildren: [],
    unused: { nodes: 0, meshes: 0, materials: 0, textures: 0, images: 0, accessors: 0, bufferViews: 0, bytes: 0 },
    faults: [],
    inward: [],
    damages: [],
    gpu: { geometry: 0, textures: 0 },
    generator: null,
    bytes: 1000,
    size,
    box: null,
    sizeIsExact: true,
    counts: {
      nodes: meshes.length,
      meshes: meshes.length,
      primitives: meshes.flat().length,
      triangles: 12 * meshes.flat().length,
      draws: meshes.flat().length,
      materials: materials.length,
      textures: 0,
      images: 0,
      animations: 0,
      cameras: 0,
      lights: 0,
      pieces: meshes.length,
      skins: 0,
    },
    materials: materials.map((name, index) => ({
      index,
      name,
      primitives: meshes.flat().filter(({ material }) => material === index).length,
      triangles: 12,
      nodes: [],
      maps: [],
      alphaMode: 'OPAQUE',
      doubleSided: false,
      animated: false,
      lay: UVS_IN_METRES,
      metresPerUv: 1,
      areaM2: 1,
      pieces: 1,
      factors: { baseColor: [1, 1, 1, 1], metallic: 0, roughness: 1 },
      uv: {
        coverage: 1,
        overlap: 0,
        outside: 0,
        bounds: { min: [0, 0], max: [1, 1] },
        stretch: 1,
        sizes: { low: 1, high: 1, off: 0 },
        pxPerMm: null,
      },
      neutralDetail: null,
      grain: null,
      relief: null,
      densities: [],
    })),
    bareLay: UVS_IN_METRES,
    primitives: meshes.flatMap((primitives, mesh) =>
      primitives.map((given, primitive) => ({
        mesh,
        primitive,
        uses: 1,
        triangles: 12,
        vertices: 24,
        uvSets: 1,
        hasUvs: (given.uvSets ?? 1) > 0,
        hasNormals: true,
        hasTangents: false,
        scale: { low: 1, high: 1 },
        hasColours: false,
        compression: 'none' as const,
        ...given,
      })),
    ),
    images: [],
    sharedMeshes: [],
    variants: [],
    extensions: { used: [], required: [], known: [], unknown: [] },
    weight: { json: 500, images: 0, geometry: 500, causes: [] },
    validator: { version: '', errors: 0, warnings: 0, infos: 0, hints: 0, messages: [] },
  };
}

/** A slot, with its differences from a plain one. */
export function makeSlot(slot: string, given: Partial<Slot> = {}): Slot {
  return {
    slot,
    label: slot,
    materialName: slot,
    materials: [0],
    primitives: [{ mesh: 0, primitive: 0 }],
    triangles: 12,
    position: null,
    options: null,
    fixed: false,
    keep: KEEP_ALL,
    grainDegrees: 0,
    ...given,
  };
}
