import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { type Document, getBounds, type NodeIO } from '@gltf-transform/core';
import { clearNodeTransform, flatten, join, prune, textureCompress } from '@gltf-transform/functions';
import sharp from 'sharp';
import { openModel } from '../../server/commands/open-model.ts';
import type { Repair } from '../../server/core/repair/repair.ts';
import { createModels } from '../../server/gltf/create-models.ts';
import { isKnownExtension } from '../../server/gltf/document/extensions.ts';
import type { GltfJson } from '../../server/gltf/document/json.ts';
import { type Glb, readGlb, readImage, variantNames } from '../support/glb.ts';
import { createIo } from '../support/gltf-io.ts';
import { repairBytes } from '../support/repair.ts';
import { listValidatorErrors } from '../support/validate.ts';
import { listModels, pack } from './findings.ts';
import { summarise } from './measure.ts';

const SIZE_PX = 512;

interface Pair {
  readonly name: string;
  readonly ours: Repair;
  readonly library: (document: Document) => Promise<unknown>;
}

/** Each of our repairs that the library has a counterpart for, with the options that come closest to ours. */
const PAIRS: readonly Pair[] = [
  {
    name: 'merge-parts / join',
    ours: { repair: 'merge-parts' },
    library: (document) => document.transform(flatten(), join()),
  },
  { name: 'bake-transforms / flatten', ours: { repair: 'bake-transforms' }, library: bake },
  {
    name: 'strip-unused / prune',
    ours: { repair: 'strip-unused' },
    // finishes need UVs that no material uses yet
    library: (document) => document.transform(prune({ keepAttributes: true, keepSolidTextures: true })),
  },
  {
    name: 'fit-textures / textureCompress',
    ours: { repair: 'fit-textures', sizePx: SIZE_PX },
    library: (document) => document.transform(textureCompress({ encoder: sharp, resize: [SIZE_PX, SIZE_PX] })),
  },
];

/** `flatten` makes every mesh node a root and keeps its transform, which is then baked. */
async function bake(document: Document): Promise<void> {
  await document.transform(flatten());
  for (const node of document.getRoot().listNodes()) {
    const mesh = node.getMesh();
    if (!mesh || node.getSkin()) continue;
    if (mesh.listParents().length > 2) node.setMesh(mesh.clone());
    clearNodeTransform(node);
  }
}

/** What counts of a file. Sizes and places are as the library reads them, for both sides. */
interface Facts {
  readonly bytes: number;
  readonly triangles: number;
  readonly draws: number;
  readonly bounds: readonly number[];
  /** What a model can lose, as a set of names for each kind. */
  readonly holdings: Readonly<Record<string, ReadonlySet<string>>>;
  readonly errors: number;
  /** Mean of each colour image in linear light, 0–1, by the name of its material. */
  readonly means: ReadonlyMap<string, number>;
}

/**
 * Runs our repairs and their counterparts in `@gltf-transform/functions` on every model of some folders, and prints what each
 * side changes and loses. Asserts nothing.
 */
export async function benchLibraryRepairs(folder: string, roots: readonly string[]): Promise<void> {
  if (roots.length === 0) throw new Error('Name a folder of models: npm run bench repairs FOLDER');
  const models = createModels();
  const io = await createIo();
  const tallies = PAIRS.map(() => new Tally());
  try {
    for (const path of (await Promise.all(roots.map(listModels))).flat()) {
      const source = await openModel(models, await pack(path, folder)).catch(() => null);
      if (!source) continue;
      const bytes = await readFile(source.path);
      await source.close();
      for (const [index, pair] of PAIRS.entries()) await compare(basename(path), bytes, pair, io, tallies[index]!);
    }
  } finally {
    await models.close();
  }
  PAIRS.forEach(({ name }, index) => {
    tallies[index]!.print(name);
  });
}

async function compare(model: string, bytes: Buffer, pair: Pair, io: NodeIO, tally: Tally): Promise<void> {
  const before = await measure(bytes, io).catch(() => null);
  const ours = await run(() => repairBytes(bytes, [{ ...pair.ours, accept: true }], 'lenient'));
  const library = await run(async () => {
    const document = await io.readBinary(bytes);
    await pair.library(document);
    return io.writeBinary(document);
  });
  tally.models++;
  if (!ours.value || ours.value.reports[0]!.outcome === 'unfit') tally.note('ours: declined', model);
  if (!library.value) tally.note('library: failed to read, change or write', model);
  if (!before || !ours.value || !library.value) return;
  const [own, other] = [await measure(ours.value.glb, io), await measure(library.value, io).catch(() => null)];
  if (!other) {
    tally.note('library: cannot read what it wrote', model);
    return;
  }
  tally.times.push(library.ms / ours.ms);
  tally.sizes.push(other.bytes / own.bytes);
  if (other.draws !== own.draws)
    tally.note(other.draws > own.draws ? 'library: more draws' : 'ours: more draws', model);
  judge('ours', before, own, model, tally);
  judge('library', before, other, model, tally);
}

function judge(side: string, before: Facts, after: Facts, model: string, tally: Tally): void {
  if (after.triangles !== before.triangles) tally.note(`${side}: other number of triangles`, model);
  const size = Math.max(...[0, 1, 2].map((axis) => before.bounds[axis + 3]! - before.bounds[axis]!));
  const moved = Math.max(...before.bounds.map((value, at) => Math.abs(value - after.bounds[at]!)));
  if (moved > 1e-5 * Math.max(size, 1e-6)) tally.note(`${side}: other bounds`, model);
  if (after.errors > before.errors) tally.note(`${side}: more validator errors`, model);
  for (const [kind, names] of Object.entries(before.holdings)) {
    const kept = after.holdings[kind]!;
    if ([...names].some((name) => !kept.has(name))) tally.note(`${side}: loses ${kind}`, model);
  }
  for (const [material, mean] of before.means) {
    const now = after.means.get(material);
    if (now !== undefined && Math.abs(now - mean) > 1 / 255)
      tally.note(`${side}: mean colour moves by over 1/255`, model);
  }
}

async function run<T>(work: () => Promise<T>): Promise<{ readonly value: T | null; readonly ms: number }> {
  const start = performance.now();
  const value = await work().catch(() => null);
  return { value, ms: performance.now() - start };
}

async function measure(bytes: Uint8Array, io: NodeIO): Promise<Facts> {
  const glb = readGlb(bytes);
  const document = await io.readBinary(bytes);
  const scene = document.getRoot().getDefaultScene() ?? document.getRoot().listScenes()[0];
  let triangles = 0;
  let draws = 0;
  scene?.traverse((node) => {
    for (const primitive of node.getMesh()?.listPrimitives() ?? []) {
      draws++;
      const count = (primitive.getIndices() ?? primitive.getAttribute('POSITION'))?.getCount() ?? 0;
      triangles += primitive.getMode() === 4 ? Math.floor(count / 3) : Math.max(0, count - 2);
    }
  });
  const { min, max } = scene ? getBounds(scene) : { min: [0, 0, 0], max: [0, 0, 0] };
  const means = new Map<string, number>();
  for (const { name, pbrMetallicRoughness } of glb.json.materials ?? []) {
    const image = glb.json.textures?.[pbrMetallicRoughness?.baseColorTexture?.index ?? -1]?.source;
    const mean = image === undefined ? null : await measureMean(glb, image);
    if (name && mean !== null) means.set(name, mean);
  }
  return {
    bytes: bytes.length,
    triangles,
    draws,
    bounds: [...min, ...max],
    holdings: listHoldings(glb),
    errors: (await listValidatorErrors(bytes)).length,
    means,
  };
}

/** Mean over all channels in linear light; decoding by IEC 61966-2-1. */
async function measureMean(glb: Glb, image: number): Promise<number | null> {
  const bytes = readImage(glb, image);
  const raw =
    bytes &&
    (await sharp(bytes)
      .removeAlpha()
      .toColourspace('srgb')
      .raw()
      .toBuffer()
      .catch(() => null));
  if (!raw) return null;
  let sum = 0;
  for (const code of raw) {
    const value = code / 255;
    sum += value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  }
  return sum / raw.length;
}

function listHoldings(glb: Glb): Facts['holdings'] {
  const { json } = glb;
  const names = (list: readonly { readonly name?: string }[] = []) => list.flatMap(({ name }) => name ?? []);
  const channels = (json.animations ?? []).flatMap((animation) => animation.channels ?? []);
  const pointers = channels.flatMap(({ target }) => target.extensions?.KHR_animation_pointer?.pointer ?? []);
  const primitives = listDrawn(json).flatMap((mesh) => json.meshes![mesh]!.primitives);
  const targets = Math.max(0, ...primitives.map((primitive) => primitive.targets?.length ?? 0));
  const withExtras = [...(json.nodes ?? []), ...(json.meshes ?? []), ...(json.materials ?? [])] as {
    extras?: object;
  }[];
  const extras = withExtras.flatMap((object) => (object.extras ? JSON.stringify(object.extras) : []));
  return {
    variants: new Set(variantNames(glb)),
    'extensions it does not know': new Set((json.extensionsUsed ?? []).filter((name) => !isKnownExtension(name))),
    'other extensions': new Set((json.extensionsUsed ?? []).filter(isKnownExtension)),
    'animation pointers': new Set(pointers.map(String)),
    animations: new Set(channels.map(({ target }) => target.path).filter((path) => path !== 'pointer')),
    'names of materials': new Set(names(json.materials)),
    'names of nodes': new Set(names(json.nodes)),
    'indices of materials': new Set(names(json.materials).map((name, index) => `${index} ${name}`)),
    'morph targets': new Set(Array.from({ length: targets }, (_, target) => `${target}`)),
    attributes: new Set(primitives.flatMap(({ attributes }) => Object.keys(attributes))),
    extras: new Set(extras),
    skins: new Set((json.skins ?? []).map((_, index) => `${index}`)),
    cameras: new Set((json.cameras ?? []).map((_, index) => `${index}`)),
  };
}

function listDrawn(json: GltfJson): number[] {
  return [...new Set((json.nodes ?? []).flatMap(({ mesh }) => mesh ?? []))];
}

class Tally {
  models = 0;
  readonly times: number[] = [];
  readonly sizes: number[] = [];
  readonly #notes = new Map<string, Set<string>>();

  note(what: string, model: string): void {
    this.#notes.set(what, (this.#notes.get(what) ?? new Set()).add(model));
  }

  print(name: string): void {
    console.log(`\n${name}: ${this.models} models, ${this.times.length} compared`);
    if (this.times.length > 0) {
      console.log(`  library ÷ ours, median: time ${summarise(this.times).median.toFixed(2)}`);
      console.log(`  library ÷ ours, median: bytes ${summarise(this.sizes).median.toFixed(3)}`);
    }
    for (const [what, models] of [...this.#notes].sort()) {
      console.log(`${String(models.size).padStart(6)}  ${what} (${[...models].slice(0, 3).join(', ')})`);
    }
  }
}
