import { rm, writeFile } from 'node:fs/promises';
import { foldCode } from '../../core/codes.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { UVS_IN_METRES } from '../../core/delivery/repeat-transform.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type { Repaired, SamplesRequest } from '../../core/ports/models.ts';
import type { Slot } from '../../core/product/slot.ts';
import { makeHead, readContainer } from '../document/container.ts';
import type { AccessorJson, GltfJson } from '../document/json.ts';
import type { MapMaker } from '../materials/derived-maps.ts';
import { streamGlb } from '../write/stream-glb.ts';
import { writeVariants } from '../write/write-variants.ts';
import { makePlate, PLATE } from './make-plate.ts';
import { planExtract } from './plan-extract.ts';

/**
 * Writes a GLB of samples: for each finish a plate of 100 mm, upright, with its maps at true size. Node, mesh and material have the
 * code and name of the finish; `extras` has both apart. The writer of deliveries makes the materials, so they equal those of products
 * except for what a part keeps. The same finishes give the same bytes.
 */
export async function writeSamples(
  { finishes, targetPath, readMap }: SamplesRequest,
  maps: MapMaker,
): Promise<Omit<Repaired, 'reports' | 'materialOrigins'>> {
  const [bare, dressed] = [`${targetPath}.bare`, `${targetPath}.dressed`];
  try {
    await writeFile(bare, makeBoard(finishes));
    const byCode = new Map(finishes.map((finish) => [foldCode(finish.finish), finish]));
    const plan = planBoard(finishes);
    await writeVariants({ sourcePath: bare, targetPath: dressed, images: [], plan, finishes: byCode, readMap }, maps);
    const { json, bin } = await readContainer(dressed);
    const one = planExtract(json, bin!.length, { variants: [0], first: 0, withExtension: false });
    const ranges = one.ranges.map(({ start, end }) => ({ start: start + bin!.offset, end: end + bin!.offset }));
    const { sha256, bytes } = await streamGlb(
      targetPath,
      nameMaterials(one.json, finishes),
      { path: dressed, ranges },
      [],
    );
    return { sha256, bytes };
  } finally {
    await Promise.all([bare, dressed].map((path) => rm(path, { force: true })));
  }
}

const labelOf = ({ finish, name }: ResolvedFinish) => `${finish} ${name}`;
const extrasOf = ({ finish, name, hex }: ResolvedFinish) => ({ finish, name, hex });

/** The plates without finishes: meshes of one geometry, in rows as wide as high. */
function makeBoard(finishes: readonly ResolvedFinish[]): Buffer {
  const { positions, normals, uvs, indices } = makePlate();
  const step = PLATE.widthM + PLATE.gapM;
  const columns = Math.ceil(Math.sqrt(finishes.length));
  const rows = Math.ceil(finishes.length / columns);
  const parts = [positions, normals, uvs, indices].map((array) =>
    Buffer.from(array.buffer, array.byteOffset, array.byteLength),
  );
  let at = 0;
  const bufferViews = parts.map((part, index) => {
    const view = { buffer: 0, byteOffset: at, byteLength: part.length, target: index === 3 ? 34963 : 34962 };
    at += part.length;
    return view;
  });
  const bounds = (axis: number) => positions.filter((_, index) => index % 3 === axis);
  const accessors: AccessorJson[] = [
    {
      bufferView: 0,
      componentType: 5126,
      count: positions.length / 3,
      type: 'VEC3',
      min: [0, 1, 2].map((axis) => Math.min(...bounds(axis))),
      max: [0, 1, 2].map((axis) => Math.max(...bounds(axis))),
    },
    { bufferView: 1, componentType: 5126, count: normals.length / 3, type: 'VEC3' },
    { bufferView: 2, componentType: 5126, count: uvs.length / 2, type: 'VEC2' },
    { bufferView: 3, componentType: 5123, count: indices.length, type: 'SCALAR' },
  ];
  const json: GltfJson = {
    asset: { version: '2.0', generator: 'Dyeworks' },
    scene: 0,
    scenes: [{ nodes: finishes.map((_, index) => index) }],
    nodes: finishes.map((finish, index) => ({
      name: labelOf(finish),
      mesh: index,
      translation: [
        roundToMm(((index % columns) - (columns - 1) / 2) * step),
        roundToMm((rows - 1 - Math.floor(index / columns)) * step + PLATE.widthM / 2),
        0,
      ],
      extras: extrasOf(finish),
    })),
    meshes: finishes.map((finish, material) => ({
      name: labelOf(finish),
      primitives: [{ attributes: { POSITION: 0, NORMAL: 1, TEXCOORD_0: 2 }, indices: 3, material }],
    })),
    materials: finishes.map((finish) => ({ name: labelOf(finish) })),
    accessors,
    bufferViews,
    buffers: [{ byteLength: at }],
  };
  const body = Buffer.concat(parts);
  return Buffer.concat([makeHead(json, body.length), body]);
}

const roundToMm = (metres: number) => Math.round(metres * 1000) / 1000;

/** One slot for each plate, which keeps nothing of its part. */
function planBoard(finishes: readonly ResolvedFinish[]): MappingPlan {
  return {
    variants: ['samples'],
    results: finishes.map((finish, index) => ({
      kind: 'finish',
      slot: makeSlot(index),
      finish: finish.finish,
      sourceMaterial: index,
      hasUv: true,
      lay: UVS_IN_METRES,
      uvSets: 1,
      hasTangents: false,
      scale: { low: 1, high: 1 },
      uvBounds: null,
      detail: null,
      wear: null,
    })),
    primitives: finishes.map((_, index) => ({
      mesh: index,
      primitive: 0,
      base: index,
      mappings: [{ result: index, variants: [0] }],
      dropColours: false,
    })),
  };
}

function makeSlot(index: number): Slot {
  return {
    slot: 'sample',
    label: '',
    materialName: '',
    materials: [index],
    primitives: [{ mesh: index, primitive: 0 }],
    triangles: 0,
    position: null,
    options: null,
    fixed: false,
    keep: { normal: false, occlusion: false, alpha: false, detail: false, wear: false },
    grainDegrees: 0,
  };
}

/** Each plate gets a material of its own with the label: two finishes may share one supplied material. */
function nameMaterials(json: GltfJson, finishes: readonly ResolvedFinish[]): GltfJson {
  const made = json.materials ?? [];
  return {
    ...json,
    materials: json.meshes!.map(({ primitives: [primitive] }, index) => ({
      ...made[primitive!.material!],
      name: labelOf(finishes[index]!),
      extras: extrasOf(finishes[index]!),
    })),
    meshes: json.meshes!.map((mesh, material) => ({
      ...mesh,
      primitives: mesh.primitives.map((primitive) => ({ ...primitive, material })),
    })),
  };
}
