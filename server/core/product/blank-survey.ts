import { UVS_IN_METRES } from '../delivery/repeat-transform.ts';
import { SURVEY_FORMAT, type Survey } from './survey.ts';

/**
 * Replaces the survey of a stored model that an earlier version could read and this one cannot. The product is still
 * listed and can get another model. Nothing can be made of this one.
 * @param unreadable the reason, for a person
 */
export function makeBlankSurvey(bytes: number, unreadable: string): Survey {
  const none = { count: 0, first: [] };
  return {
    format: SURVEY_FORMAT,
    unreadable,
    generator: null,
    bytes,
    size: null,
    box: null,
    sizeIsExact: true,
    counts: {
      nodes: 0,
      meshes: 0,
      primitives: 0,
      triangles: 0,
      draws: 0,
      materials: 0,
      textures: 0,
      images: 0,
      animations: 0,
      cameras: 0,
      lights: 0,
      pieces: 0,
      skins: 0,
    },
    transforms: { unbaked: none, negative: none, uneven: none },
    hidden: none,
    scenesWithChildren: [],
    unused: { nodes: 0, meshes: 0, materials: 0, textures: 0, images: 0, accessors: 0, bufferViews: 0, bytes: 0 },
    faults: [],
    inward: [],
    gpu: { geometry: 0, textures: 0 },
    materials: [],
    bareLay: UVS_IN_METRES,
    primitives: [],
    images: [],
    sharedMeshes: [],
    variants: [],
    extensions: { used: [], required: [], known: [], unknown: [] },
    weight: { json: 0, images: 0, geometry: 0, causes: [] },
    damages: [],
    validator: { version: '', errors: 0, warnings: 0, infos: 0, hints: 0, messages: [] },
  };
}
