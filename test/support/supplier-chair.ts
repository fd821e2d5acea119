import { Document, type Node } from '@gltf-transform/core';
import sharp from 'sharp';
import { createIo } from './gltf-io.ts';
import { createRandom } from './random.ts';

interface SupplierChair {
  /** Of positions and translations; 1 gives centimetres that are read as metres, 0.01 gives true metres. */
  readonly scale?: number;
  /** Noise of the atlas, and the order of the changed export. */
  readonly seed?: number;
  /**
   * The modeller's next export: another order, a backrest 6 mm taller, which a data sheet allows, and six more screws.
   */
  readonly changed?: boolean;
}

/** Loose parts of the chair; the changed one has `CHAIR_PARTS_ADDED` more. */
export const CHAIR_PARTS = 569;
export const CHAIR_PARTS_ADDED = 6;

/** The materials in the atlas, which a person would make slots of. */
type ChairStuff = 'oak' | 'cloth' | 'black';

/**
 * An invented chair as suppliers send them: 569 loose parts in centimetres, with a mesh and a node each, turned and
 * moved by their nodes, under one baked material that is metal because nobody set it otherwise. 46 × 52 × 82 cm; oak
 * frame, blue seat, black feet and fixings.
 */
export async function makeSupplierChair({
  scale = 1,
  seed = 1,
  changed = false,
}: SupplierChair = {}): Promise<Uint8Array> {
  const document = new Document();
  const buffer = document.createBuffer();
  const material = document
    .createMaterial('baked')
    .setRoughnessFactor(0.6)
    .setBaseColorTexture(addTexture(document, 'atlas', await makeAtlas(seed)))
    .setNormalTexture(addTexture(document, 'bumps', await makeBumps()));
  const root = document.createNode('chair').setScale([1, 1, 1]);
  document.createScene('chair').addChild(root);
  let parts = listChairParts(changed);
  if (changed) {
    const shuffle = createRandom(seed + 1000);
    parts = parts
      .map((part) => ({ part, key: shuffle.next() }))
      .sort((a, b) => a.key - b.key)
      .map(({ part }) => part);
  }
  for (const { name, shape, stuff, at, turn } of parts) {
    const { positions, normals, uvs, indices } = shape.round ? makeCylinder(shape.size) : makeBox(shape.size);
    const place = placeUvs(uvs, stuff, hash(name));
    const accessor = (type: 'VEC2' | 'VEC3' | 'SCALAR', array: Float32Array<ArrayBuffer> | Uint16Array<ArrayBuffer>) =>
      document.createAccessor().setType(type).setArray(array).setBuffer(buffer);
    const primitive = document
      .createPrimitive()
      .setMaterial(material)
      .setAttribute(
        'POSITION',
        accessor(
          'VEC3',
          Float32Array.from(positions, (value) => value * scale),
        ),
      )
      .setAttribute('NORMAL', accessor('VEC3', new Float32Array(normals)))
      .setAttribute('TEXCOORD_0', accessor('VEC2', new Float32Array(place)))
      .setIndices(accessor('SCALAR', new Uint16Array(indices)));
    const node: Node = document.createNode(name).setMesh(document.createMesh(name).addPrimitive(primitive));
    node.setTranslation(at.map((value) => value * scale) as Vector);
    if (turn) node.setRotation(toQuaternion(turn));
    root.addChild(node);
  }
  return (await createIo()).writeBinary(document);
}

type Vector = [number, number, number];

interface ChairPart {
  readonly name: string;
  readonly stuff: ChairStuff;
  /** Edges in cm; a cylinder is upright in such a box. */
  readonly shape: { readonly round: boolean; readonly size: Vector };
  readonly at: Vector;
  /** Degrees about x, y or z. */
  readonly turn?: { readonly axis: 0 | 1 | 2; readonly degrees: number };
}

/** Every part, in centimetres; y up, front towards +z, the floor at 0, the seat 46 cm high. */
export function listChairParts(changed = false): ChairPart[] {
  const parts: ChairPart[] = [];
  const add = (name: string, stuff: ChairStuff, size: Vector, at: Vector, round = false, turn?: ChairPart['turn']) =>
    parts.push({ name, stuff, shape: { round, size }, at, ...(turn ? { turn } : {}) });
  const number = (count: number) => String(count).padStart(3, '0');
  for (const [side, x] of [
    ['left', -20.9],
    ['right', 20.9],
  ] as const) {
    add(`leg_front_${side}`, 'oak', [3.4, 42.2, 3.4], [x, 21.9, 24.3]);
    add(`leg_back_${side}`, 'oak', [3.3, 78.6, 3.1], [x, 39.95, -21.6], false, { axis: 0, degrees: -4 });
    add(`foot_front_${side}`, 'black', [2.8, 0.9, 2.8], [x, 0.45, 24.3], true);
    add(`foot_back_${side}`, 'black', [2.6, 0.9, 2.6], [x, 0.45, -18.9], true);
    add(`rail_${side}`, 'oak', [2.2, 5.2, 43.7], [x * 0.98, 39.6, 2.1]);
    add(`stretcher_${side}`, 'oak', [1.9, 2.4, 42.9], [x * 0.99, 14.3, 2.3]);
  }
  add('rail_front', 'oak', [40.1, 5.1, 2.3], [0, 39.7, 24.1]);
  add('rail_back', 'oak', [40.2, 5.3, 2.1], [0, 39.5, -20.8]);
  add('stretcher_middle', 'oak', [39.3, 2.3, 1.8], [0, 14.2, 2.4]);
  const taller = changed ? 0.6 : 0;
  add('backrest', 'oak', [46, 9 + taller, 2.2], [0, 77.5 + taller / 2, -24.9]);
  add('seat', 'cloth', [42.3, 4.2, 43.6], [0, 44.4, 2.05]);
  for (let i = 0; i < 9; i++)
    add(`spindle_${number(i + 1)}`, 'oak', [1.5, 32.6, 1.5], [-16 + i * 4, 57.9, -23.1], true, {
      axis: 0,
      degrees: -4,
    });
  for (let i = 0; i < 24; i++) add(`slat_${number(i + 1)}`, 'oak', [1.1, 0.7, 40.7], [-18.4 + i * 1.6, 41.7, 2.07]);
  for (let i = 0; i < 36; i++) {
    const [side, step] = [i % 4, Math.floor(i / 4)];
    const along = -18 + step * 4.5;
    const at: Vector =
      side < 2 ? [along, 46.4, side === 0 ? 23.4 : -19.3] : [side === 2 ? 20.7 : -20.7, 46.4, along + 2];
    add(`piping_${number(i + 1)}`, 'cloth', [0.8, 4.1, 0.8], at, true, { axis: side < 2 ? 2 : 0, degrees: 90 });
  }
  for (let i = 0; i < 16; i++)
    add(
      `button_${number(i + 1)}`,
      'cloth',
      [1.6, 0.6, 1.6],
      [-13.5 + (i % 4) * 9, 46.6, -11.4 + Math.floor(i / 4) * 9],
      true,
    );
  for (let i = 0; i < 160; i++) {
    const turn = { axis: 1 as const, degrees: (i * 37) % 180 };
    add(
      `staple_${number(i + 1)}`,
      'black',
      [1.1, 0.2, 0.15],
      [-19.5 + (i % 20) * 2.05, 42.4, -17.1 + Math.floor(i / 20) * 5.3],
      false,
      turn,
    );
  }
  const screws = CHAIR_PARTS - parts.length + (changed ? CHAIR_PARTS_ADDED : 0);
  for (let i = 0; i < screws; i++) {
    // up and down the four legs, on their two outer faces, and the rest along the front rail
    const [leg, face, step] = [i % 4, Math.floor(i / 4) % 2, Math.floor(i / 8)];
    const x = leg < 2 ? -20.9 : 20.9;
    const out = leg < 2 ? -1.7 : 1.7;
    const z = leg % 2 === 0 ? 24.3 : -19.6;
    const y = 3.1 + step * 0.97;
    const at: Vector = face === 0 ? [x + out, y, z + 0.3] : [x + out * 0.4, y + 0.4, z + (leg % 2 === 0 ? 1.7 : -1.2)];
    add(`screw_${number(i + 1)}`, 'black', [0.7, 0.5, 0.7], at, true, { axis: face === 0 ? 2 : 0, degrees: 90 });
  }
  return parts;
}

interface Shape {
  readonly positions: number[];
  readonly normals: number[];
  readonly uvs: number[];
  readonly indices: number[];
}

function makeBox([width, height, depth]: Vector): Shape {
  const shape: Shape = { positions: [], normals: [], uvs: [], indices: [] };
  const half = [width / 2, height / 2, depth / 2];
  for (const axis of [0, 1, 2]) {
    for (const side of [-1, 1]) {
      const first = shape.positions.length / 3;
      for (const [a, b] of [
        [-1, -1],
        [1, -1],
        [1, 1],
        [-1, 1],
      ] as const) {
        const corner = [0, 0, 0];
        corner[axis] = side * half[axis]!;
        corner[(axis + 1) % 3] = a * side * half[(axis + 1) % 3]!;
        corner[(axis + 2) % 3] = b * half[(axis + 2) % 3]!;
        shape.positions.push(...corner);
        shape.normals.push(...[0, 1, 2].map((index) => (index === axis ? side : 0)));
        shape.uvs.push((a + 1) / 2, (b + 1) / 2);
      }
      shape.indices.push(...[0, 1, 2, 0, 2, 3].map((index) => first + index));
    }
  }
  return shape;
}

/** Ten sides, with lids; upright. */
function makeCylinder([width, height, depth]: Vector, sides = 10): Shape {
  const shape: Shape = { positions: [], normals: [], uvs: [], indices: [] };
  const add = (x: number, y: number, z: number, normal: Vector, uv: readonly [number, number]) => {
    shape.positions.push((x * width) / 2, (y * height) / 2, (z * depth) / 2);
    shape.normals.push(...normal);
    shape.uvs.push(...uv);
  };
  for (let i = 0; i <= sides; i++) {
    const [x, z] = [Math.cos((i / sides) * 2 * Math.PI), Math.sin((i / sides) * 2 * Math.PI)];
    for (const y of [-1, 1]) add(x, y, z, [x, 0, z], [i / sides, (y + 1) / 2]);
    if (i < sides) shape.indices.push(...[0, 1, 2, 2, 1, 3].map((index) => i * 2 + index));
  }
  for (const y of [-1, 1]) {
    const first = shape.positions.length / 3;
    for (let i = 0; i < sides; i++) {
      const [x, z] = [Math.cos((i / sides) * 2 * Math.PI), Math.sin((i / sides) * 2 * Math.PI)];
      add(x, y, z, [0, y, 0], [(x + 1) / 2, (z + 1) / 2]);
      if (i > 1) shape.indices.push(first, ...(y < 0 ? [first + i - 1, first + i] : [first + i, first + i - 1]));
    }
  }
  return shape;
}

/** The regions of the materials in the atlas, in UV; a margin keeps them from bleeding into each other. */
const REGIONS: Readonly<Record<ChairStuff, readonly [number, number, number, number]>> = {
  oak: [0.03, 0.03, 0.57, 0.97],
  cloth: [0.65, 0.03, 0.97, 0.57],
  black: [0.65, 0.65, 0.97, 0.97],
};

/** Places a part's faces somewhere in its region, as packers do. */
function placeUvs(uvs: readonly number[], stuff: ChairStuff, start: number): number[] {
  const [left, top, right, bottom] = REGIONS[stuff];
  const random = createRandom(start);
  const size = 0.2 + 0.2 * random.next();
  const [x, y] = [random.next() * (1 - size), random.next() * (1 - size)];
  return uvs.map((value, i) =>
    i % 2 === 0 ? left + (right - left) * (x + value * size) : top + (bottom - top) * (y + value * size),
  );
}

const ATLAS_PX = 256;

async function makeAtlas(seed: number): Promise<Uint8Array> {
  const random = createRandom(seed);
  const raw = Buffer.alloc(ATLAS_PX * ATLAS_PX * 3);
  for (let y = 0; y < ATLAS_PX; y++) {
    for (let x = 0; x < ATLAS_PX; x++) {
      const noise = (random.next() - 0.5) * 8;
      // oak has grain along v, cloth a weave of two pixels, black almost none
      const grain = 9 * Math.sin(x * 0.9) + 4 * Math.sin(x * 0.23 + y * 0.02);
      const weave = ((x >> 1) + (y >> 1)) % 2 === 0 ? 7 : -7;
      const [colour, add] =
        x < 0.61 * ATLAS_PX ? [OAK, grain] : y < 0.61 * ATLAS_PX ? [BLUE, weave] : [BLACK, noise / 3];
      colour.forEach((value, channel) => {
        raw[(y * ATLAS_PX + x) * 3 + channel] = Math.max(0, Math.min(255, Math.round(value + add + noise)));
      });
    }
  }
  return toPng(raw, ATLAS_PX);
}

const OAK = [196, 160, 112] as const;
const BLUE = [47, 82, 122] as const;
const BLACK = [28, 28, 30] as const;

/** A normal map of shallow bumps, of unit length within eight bits. */
async function makeBumps(): Promise<Uint8Array> {
  const raw = Buffer.alloc(64 * 64 * 3);
  for (let i = 0; i < 64 * 64; i++) {
    const [x, y] = [0.12 * Math.sin((i % 64) * 0.39), 0.12 * Math.cos(Math.floor(i / 64) * 0.39)];
    const vector = [x, y, Math.sqrt(1 - x * x - y * y)];
    for (const [channel, value] of vector.entries()) raw[i * 3 + channel] = Math.round((value * 0.5 + 0.5) * 255);
  }
  return toPng(raw, 64);
}

async function toPng(raw: Buffer, sizePx: number): Promise<Uint8Array> {
  return new Uint8Array(
    await sharp(raw, { raw: { width: sizePx, height: sizePx, channels: 3 } })
      .png()
      .toBuffer(),
  );
}

function addTexture(document: Document, name: string, image: Uint8Array) {
  return document
    .createTexture(name)
    .setMimeType('image/png')
    .setImage(image as Uint8Array<ArrayBuffer>);
}

function toQuaternion({ axis, degrees }: NonNullable<ChairPart['turn']>): [number, number, number, number] {
  const half = (degrees * Math.PI) / 360;
  const out: [number, number, number, number] = [0, 0, 0, Math.cos(half)];
  out[axis] = Math.sin(half);
  return out;
}

/** A number from a name, so that a part's UVs stay in place when the order changes (FNV-1a). */
function hash(name: string): number {
  let value = 0x811c9dc5;
  for (const letter of name) value = Math.imul(value ^ letter.charCodeAt(0), 0x01000193);
  return value >>> 0;
}
