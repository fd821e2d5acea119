import { Document, Logger, type Material, type Mesh, type Primitive, type Texture } from '@gltf-transform/core';
import sharp from 'sharp';
import { createRandom } from './random.ts';

/** A document with a scene and one buffer, for parts. */
export function createDocument(): Document {
  const document = new Document().setLogger(new Logger(Logger.Verbosity.WARN));
  document.createBuffer();
  document.createScene('product');
  return document;
}

export interface Part {
  readonly name: string;
  readonly material: Material | null;
  /** Rows and columns of a bumpy sheet; a small sheet is enough for most tests. */
  readonly cells?: number;
  readonly uv?: boolean;
  readonly colours?: boolean;
  /** Edge in metres. */
  readonly size?: number;
}

/** Adds a bumpy square sheet to the scene, one node and one mesh of one primitive; UVs run once from 0 to 1. */
export function addPart(document: Document, part: Part): Mesh {
  const mesh = document.createMesh(part.name).addPrimitive(createSheet(document, part));
  document.getRoot().listScenes()[0]!.addChild(document.createNode(part.name).setMesh(mesh));
  return mesh;
}

export function createSheet(
  document: Document,
  { material, cells = 4, uv = true, colours = false, size = 1 }: Part,
): Primitive {
  const side = cells + 1;
  const random = createRandom(cells);
  const positions: number[] = [];
  const uvs: number[] = [];
  const tints: number[] = [];
  const indices: number[] = [];
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side; x++) {
      positions.push((x / cells) * size, 0.001 * random.next(), (y / cells) * size);
      uvs.push(x / cells, y / cells);
      tints.push(random.next(), random.next(), random.next(), 1);
      if (x < cells && y < cells) {
        const at = y * side + x;
        indices.push(at, at + side, at + 1, at + 1, at + side, at + side + 1);
      }
    }
  }
  const buffer = document.getRoot().listBuffers()[0]!;
  const accessor = (type: 'VEC2' | 'VEC3' | 'VEC4' | 'SCALAR', array: Float32Array | Uint16Array) =>
    document.createAccessor().setType(type).setArray(array).setBuffer(buffer);
  const normals = positions.map((_, i) => (i % 3 === 1 ? 1 : 0));
  const primitive = document
    .createPrimitive()
    .setAttribute('POSITION', accessor('VEC3', new Float32Array(positions)))
    .setAttribute('NORMAL', accessor('VEC3', new Float32Array(normals)))
    .setIndices(accessor('SCALAR', new Uint16Array(indices)))
    .setMaterial(material);
  if (uv) primitive.setAttribute('TEXCOORD_0', accessor('VEC2', new Float32Array(uvs)));
  if (colours) primitive.setAttribute('COLOR_0', accessor('VEC4', new Float32Array(tints)));
  return primitive;
}

/** A texture of noise that does not compress: its bytes are easy to tell from everything else. */
export async function addTexture(document: Document, name: string, start: number, sizePx = 32): Promise<Texture> {
  return document
    .createTexture(name)
    .setMimeType('image/png')
    .setImage((await makeNoisePng(start, sizePx)) as Uint8Array<ArrayBuffer>);
}

/** RGB noise; with `alpha`, a fourth channel with all values from 0 to 255. */
export async function makeNoisePng(start: number, sizePx: number, alpha = false): Promise<Uint8Array> {
  const random = createRandom(start);
  const channels = alpha ? 4 : 3;
  const raw = Buffer.from(Array.from({ length: sizePx * sizePx * channels }, () => random.whole(256)));
  return new Uint8Array(
    await sharp(raw, { raw: { width: sizePx, height: sizePx, channels } })
      .png()
      .toBuffer(),
  );
}
