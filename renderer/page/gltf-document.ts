/** An unreadable part of a file. The picture omits the parts that need it. */
export class FileFault extends Error {
  override readonly name = 'FileFault';
}

/** A parsed glTF document. Its readers check everything, because any place may hold any value. */
export interface GltfDocument {
  readonly root: Json;
  /** One of its lists. Values that are not objects become `{}`. */
  list(name: string): readonly Json[];
  /** Whether it declares an extension as used. */
  declares(extension: string): boolean;
  /** Bytes of a buffer, or a part of them. @throws FileFault if there are too few */
  readBuffer(buffer: unknown, byteOffset: unknown, byteLength: unknown): Promise<Uint8Array>;
  /** Bytes of a buffer view as in the file. @throws FileFault */
  readView(view: unknown): Promise<Uint8Array>;
  /** Bytes of an image. @throws FileFault */
  readImage(image: number): Promise<Uint8Array>;
}

const GLB_MAGIC = 0x46546c67;
const CHUNKS = { json: 0x4e4f534a, bin: 0x004e4942 };

/** Fetches a GLB. It must be self-contained: references to other files are not followed. */
export async function fetchDocument(url: string): Promise<GltfDocument> {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`The file could not be fetched: ${answer.status}.`);
  return openDocument(new Uint8Array(await answer.arrayBuffer()));
}

/** Opens the bytes of a GLB. @throws Error for other bytes */
export function openDocument(bytes: Uint8Array): GltfDocument {
  const { json, bin } = readGlb(bytes);
  return createDocument(json, { bin });
}

function readGlb(bytes: Uint8Array): { json: unknown; bin?: Uint8Array } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 20 || view.getUint32(0, true) !== GLB_MAGIC) throw new Error('The file is not a GLB.');
  let json: unknown;
  let bin: Uint8Array | undefined;
  for (let at = 12; at + 8 <= bytes.length; ) {
    const chunk = bytes.subarray(at + 8, at + 8 + view.getUint32(at, true));
    const kind = view.getUint32(at + 4, true);
    if (kind === CHUNKS.json) json ??= JSON.parse(new TextDecoder().decode(chunk));
    if (kind === CHUNKS.bin) bin ??= chunk;
    at += 8 + view.getUint32(at, true);
  }
  return { json, bin };
}

/**
 * @param bin bytes of buffer 0
 * @param follows whether images may be fetched from their URLs
 */
export function createDocument(
  json: unknown,
  { bin, follows = false }: { readonly bin?: Uint8Array; readonly follows?: boolean } = {},
): GltfDocument {
  const root = asObject(json);
  const lists = new Map<string, readonly Json[]>();
  const buffers = new Map<number, Promise<Uint8Array>>();

  function list(name: string): readonly Json[] {
    let found = lists.get(name);
    if (!found) {
      found = asList(root[name]).map(asObject);
      lists.set(name, found);
    }
    return found;
  }

  function getBuffer(index: number): Promise<Uint8Array> {
    let bytes = buffers.get(index);
    if (!bytes) {
      const uri = asText(list('buffers')[index]?.uri);
      if (uri) bytes = fetchBytes(uri, `buffer ${index}`);
      else
        bytes =
          index === 0 && bin ? Promise.resolve(bin) : Promise.reject(new FileFault(`Buffer ${index} has no bytes.`));
      buffers.set(index, bytes);
    }
    return bytes;
  }

  async function fetchBytes(uri: string, what: string): Promise<Uint8Array> {
    if (!follows && !uri.startsWith('data:')) throw new FileFault(`The file does not contain ${what}.`);
    const answer = await fetch(uri).catch(() => undefined);
    if (!answer?.ok) throw new FileFault(`The address of ${what} cannot be read.`);
    return new Uint8Array(await answer.arrayBuffer());
  }

  async function readBuffer(buffer: unknown, byteOffset: unknown, byteLength: unknown): Promise<Uint8Array> {
    const index = asIndex(buffer);
    const from = asIndex(byteOffset ?? 0);
    const length = asIndex(byteLength);
    if (index === undefined || from === undefined || length === undefined) {
      throw new FileFault('A buffer view does not give its position in its buffer.');
    }
    const bytes = await getBuffer(index);
    if (from + length > bytes.length) throw new FileFault(`Buffer ${index} ends before one of its views.`);
    return bytes.subarray(from, from + length);
  }

  async function readView(index: unknown): Promise<Uint8Array> {
    const view = list('bufferViews')[asIndex(index) ?? -1];
    if (!view) throw new FileFault(`There is no buffer view ${JSON.stringify(index)}.`);
    return readBuffer(view.buffer, view.byteOffset, view.byteLength);
  }

  return {
    root,
    list,
    declares: (extension) => asList(root.extensionsUsed).includes(extension),
    readBuffer,
    readView,
    async readImage(index) {
      const image = list('images')[index];
      if (!image) throw new FileFault(`There is no image ${index}.`);
      const uri = asText(image.uri);
      return uri ? fetchBytes(uri, `image ${index}`) : readView(image.bufferView);
    },
  };
}

/** Name of an object for a message, with its place. */
export function describePlace(kind: string, index: number, object: Json | undefined): string {
  const name = asText(object?.name);
  return name ? `${kind} ${index} (“${name}”)` : `${kind} ${index}`;
}

/** A texture's name for a message: its own, or that of its image, which most writers use. */
export function describeTexture(document: GltfDocument, index: number): string {
  const texture = document.list('textures')[index] ?? {};
  const named = [texture, ...listSources(texture).map(({ image }) => document.list('images')[image])];
  return describePlace(
    'texture',
    index,
    named.find((object) => asText(object?.name)),
  );
}

/** Images of a texture, the best first: GPU formats, then smaller ones, then the ones that all viewers read. */
export function listSources(texture: Json): readonly { readonly image: number; readonly isKtx2: boolean }[] {
  const named = ['KHR_texture_basisu', 'EXT_texture_webp', 'EXT_texture_avif'].map(
    (name) => [getExtension(texture, name)?.source, name === 'KHR_texture_basisu'] as const,
  );
  return [...named, [texture.source, false] as const].flatMap(([source, isKtx2]) => {
    const image = asIndex(source);
    return image === undefined ? [] : [{ image, isKtx2 }];
  });
}

/** An object of a document, with any content: each reader checks the values it needs. */
export type Json = Readonly<Record<string, unknown>>;

/** The largest float in single precision, which GL uses. */
export const LARGEST = 3.4028234663852886e38;

/** The value if it is an object, else an empty object. */
export function asObject(value: unknown): Json {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Json) : {};
}

export function asList(value: unknown): readonly unknown[] {
  return Array.isArray(value) ? value : [];
}

/** The value if it is a whole number from 0 up. */
export function asIndex(value: unknown): number | undefined {
  return Number.isSafeInteger(value) && (value as number) >= 0 ? (value as number) : undefined;
}

/** The value if it is a number that a shader can have. */
export function asNumber(value: unknown): number | undefined {
  return typeof value === 'number' && Math.abs(value) <= LARGEST ? value : undefined;
}

/** The first `length` numbers; undefined if one of them is missing or wrong. */
export function asNumbers(value: unknown, length: number): readonly number[] | undefined {
  const list = asList(value);
  return list.length >= length && list.slice(0, length).every((each) => asNumber(each) !== undefined)
    ? (list.slice(0, length) as number[])
    : undefined;
}

export function asText(value: unknown): string {
  return typeof value === 'string' ? value : '';
}

/** An extension of an object; undefined if it has none. */
export function getExtension(object: Json, name: string): Json | undefined {
  const found = asObject(object.extensions)[name];
  return found === undefined || found === null ? undefined : asObject(found);
}
