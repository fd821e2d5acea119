import type { Survey } from '../../server/core/product/survey.ts';
import { count, formatNumber } from '../../server/core/texts/format-text.ts';

/** Texts of the sections on a model's contents and on its pieces. */
export const contentsTexts = {
  heading: 'Model contents',
  summary: (materials: number, triangles: number, draws: number, pieces: number, size: string) =>
    `${count(materials, 'material')}, ${count(triangles, 'triangle')} in ${count(draws, 'draw call')}, ${count(pieces, 'piece')}, ${size}`,

  // materials
  columns: { material: 'Material', covers: 'Coverage', maps: 'Maps', factors: 'Factors', uvs: 'UVs' },
  unnamedMaterial: (index: number) => `material ${index} (unnamed)`,
  noMaps: 'none',
  mapNames: {
    baseColorTexture: 'Colour',
    metallicRoughnessTexture: 'Metalness and roughness',
    normalTexture: 'Normal',
    occlusionTexture: 'Occlusion',
    emissiveTexture: 'Emission',
  } as Readonly<Record<string, string>>,
  map: (name: string, description: string) => `${name}: ${description} `,
  unreadable: (reason: string) => `cannot be read: ${reason}`,
  notRead: 'not analysed',
  roughnessAndMetal: (roughness: string, metal: string) => `roughness ${roughness}, metalness ${metal}`,
  singleColour: 'single colour, no map needed',
  nearlySingleColour: (deltaE: string) => `almost a single colour, ΔE ${deltaE}`,
  pattern: (deltaE: string) => `pattern, ΔE ${deltaE}`,
  meanColour: (kind: string, hex: string, hasAlpha: boolean) => `${kind}, mean ${hex}${hasAlpha ? ', with alpha' : ''}`,
  flatNormals: 'flat everywhere',
  plausibleNormals: 'plausible',
  oddNormals: (unit: string, outward: string) => `${unit} of unit length, ${outward} pointing outward`,
  uniform: (value: string) => `${value} everywhere`,
  range: (mean: string, min: string, max: string) => `${mean} (${min}–${max})`,
  imageFile: (size: string, format: string, quality: number | null, bytes: string) =>
    `${size}${format}${quality === null ? '' : `, quality ${quality}`}, ${bytes}`,
  unknownFormat: 'unknown format',
  pieces: (pieces: number) => count(pieces, 'piece'),
  triangles: (triangles: number) => count(triangles, 'triangle'),
  noArea: 'no area',
  metalness: (value: string) => `metalness ${value}`,
  roughness: (value: string) => `roughness ${value}`,
  alphaCutout: 'alpha cutout',
  alphaBlended: 'alpha blended',
  doubleSided: 'double-sided',
  noUvs: 'none',
  uvCoverage: (coverage: string, overlap: string | null, outside: string | null) =>
    `${coverage} of the UV square used${overlap === null ? '' : `, ${overlap} overlapping`}${outside === null ? '' : `, ${outside} outside`}`,
  stretch: (value: string) => `stretch ${value}`,
  pxPerMm: (value: string) => `${value} px/mm`,
  uvScale: (metres: string) => `1 UV unit is ${metres} m`,
  longerAlongU: (times: string) => `, ${times}× as much along U`,
  longerAlongV: (times: string) => `, ${times}× as much along V`,
  repeatSizes: (lowPercent: number, highPercent: number) =>
    `repeats appear at ${lowPercent}–${highPercent} % of their size`,
  uvSet: (n: number) => `UV set TEXCOORD_${n}`,
  neutralDetail: (mean: string) => `neutral detail, mean ${mean}`,

  // facts
  facts: {
    size: 'Size, W × D × H',
    position: 'Position',
    draws: 'Draw calls',
    structure: 'Structure',
    appearance: 'Appearance',
    other: 'Other content',
    transforms: 'Transforms',
    hidden: 'Hidden',
    memory: 'Graphics memory',
    unused: 'Unused',
    extensions: 'Extensions',
    unknownExtensions: 'Unknown extensions',
    variants: 'Variants in the model',
    validator: 'Validator',
    generator: 'Exported with',
  },
  none: 'none',
  atMost: (size: string) => `${size}, at most`,
  position: (low: string, high: string, sideways: string, forward: string, unit: string) =>
    `from ${low} to ${high} ${unit} in height; centre ${sideways} ${unit} sideways, ${forward} ${unit} forward`,
  drawCalls: (draws: number, triangles: number) => `${count(draws, 'draw call')} with ${count(triangles, 'triangle')}`,
  structure: (nodes: number, meshes: number, primitives: number, pieces: number) =>
    [
      count(nodes, 'node'),
      count(meshes, 'mesh', 'meshes'),
      count(primitives, 'primitive'),
      count(pieces, 'piece'),
    ].join(', '),
  appearance: (materials: number, textures: number, images: number) =>
    [count(materials, 'material'), count(textures, 'texture'), count(images, 'image')].join(', '),
  others: (animations: number, cameras: number, lights: number, skins: number) =>
    listCounts([
      [animations, 'animation'],
      [cameras, 'camera'],
      [lights, 'light'],
      [skins, 'skin'],
    ]) || 'no animations, cameras, lights or skins',
  hidden: (parts: number) => count(parts, 'part'),
  allBaked: 'all baked',
  unbaked: (parts: number, mirrored: number, uneven: number) =>
    [
      `${count(parts, 'part')} rotated or scaled by a node`,
      ...(mirrored > 0 ? [`${formatNumber(mirrored)} mirrored`] : []),
      ...(uneven > 0 ? [`${formatNumber(uneven)} scaled unevenly`] : []),
    ].join(', '),
  memory: (all: string, geometry: string, textures: string) =>
    `about ${all}: geometry ${geometry}, textures ${textures}`,
  unused: (kinds: Survey['unused'], bytes: string | null) => {
    const names = Object.keys(UNUSED) as (keyof typeof UNUSED)[];
    const counts = listCounts(names.map((kind) => [kinds[kind], ...UNUSED[kind]]));
    if (counts === '') return bytes ?? 'nothing';
    return bytes === null ? counts : `${counts}; ${bytes}`;
  },
  validator: (errors: number, warnings: number, infos: number) =>
    listCounts([
      [errors, 'error'],
      [warnings, 'warning'],
      [infos, 'remark'],
    ]) || 'no issues',

  // file size
  fileSize: (size: string) => `File size by cause, ${size} in total`,
  causeColumns: { cause: 'Cause', bytes: 'Bytes', share: 'Share' },
  causes: { geometry: 'geometry', images: 'images', json: 'JSON', rest: 'everything else' },
  under1Percent: 'under 1 %',
} as const;

/** Texts of choosing pieces by hand, to make a slot of them. */
export const piecesTexts = {
  heading: 'Pieces',
  intro: (pieces: number) =>
    `The model has ${count(pieces, 'separate piece')}. Click them in the view, or choose them from the list, then give them a name: they become a slot.`,
  choose: 'Choose pieces',
  hide: 'Hide pieces',
  loading: 'Loading pieces.',
  filter: 'Filter by part name, material name or colour',
  columns: {
    ticked: 'Ticked',
    part: 'Part',
    pieces: 'Pieces',
    colour: 'Colour',
    material: 'Material',
    size: 'Size of one, W × D × H',
    area: 'Area',
    triangles: 'Triangles',
  },
  identical: (pieces: number) => `${formatNumber(pieces)} identical`,
  tickIdentical: (name: string, pieces: number) => `${name}, ${formatNumber(pieces)} identical`,
  tickOne: (name: string, id: string) => `${name} ${id}`,
  ticked: (pieces: number) => ` ${formatNumber(pieces)} ticked`,
  unnamed: 'unnamed',
  noMaterial: 'no material',
  unnamedMaterial: (index: number) => `material ${index}`,
  place: (isLeft: boolean, isBack: boolean, heightMm: number) =>
    `${isLeft ? 'left' : 'right'}, ${isBack ? 'back' : 'front'}, ${formatNumber(heightMm)} mm up`,
  noMatch: 'No piece matches the filter.',
  moreShapes: (shapes: number) => `${count(shapes, 'more shape')}. Use the filter to narrow the list.`,
  slotName: 'Slot name',
  separate: 'Separate pieces',
  untickAll: 'Untick all',
  separating: 'Separating the pieces and measuring the result.',
  tickedCount: (pieces: number) => `${count(pieces, 'piece')} ticked.`,
  drawing: (side: 'front' | 'side', ticked: number) => `${side}, ${formatNumber(ticked)} ticked`,
  drawingCaption: 'Front and side, with the bounding box of each piece. Ticked pieces are dark.',
} as const;

const UNUSED = {
  nodes: ['node', 'nodes'],
  meshes: ['mesh', 'meshes'],
  materials: ['material', 'materials'],
  textures: ['texture', 'textures'],
  images: ['image', 'images'],
  accessors: ['accessor', 'accessors'],
  bufferViews: ['buffer view', 'buffer views'],
} as const;

/** Counts above 0, as a list. */
function listCounts(counts: readonly (readonly [n: number, one: string, many?: string])[]): string {
  return counts.flatMap(([n, one, many]) => (n > 0 ? [count(n, one, many)] : [])).join(', ');
}
