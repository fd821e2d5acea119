import { type GltfJson, type PrimitiveJson, VARIANTS } from './json.ts';

/**
 * Reads and writes documents whose primitives repeat long lists of mappings. Hundreds of loose parts times thousands of variants
 * make tens of megabytes of JSON, of which a few lists are distinct. Each distinct list is written and parsed once. That takes
 * a tenth of the time and the memory, and the bytes are the same.
 */

/** In a text of JSON, quotes inside of a string have a backslash: this can only be a key, or the end of one. */
const OPENING = `"${VARIANTS}":{"mappings":`;

/** The JSON of a document in UTF-8. Mappings that several primitives share, as one object, are written once and copied. */
export function writeSharedJson(json: GltfJson): Buffer {
  const texts = new Map<unknown, string>();
  const counts: number[] = [];
  const meshes = json.meshes?.map((mesh) => ({
    ...mesh,
    primitives: mesh.primitives.map((primitive) => {
      const extension = primitive.extensions?.[VARIANTS];
      if (!Array.isArray(extension?.mappings) || Object.keys(extension)[0] !== 'mappings') return primitive;
      if (!texts.has(extension.mappings)) {
        texts.set(extension.mappings, `"mappings ${texts.size}"`);
        counts.push(0);
      }
      const mark = texts.get(extension.mappings)!.slice(1, -1);
      counts[Number(mark.slice('mappings '.length))]!++;
      return {
        ...primitive,
        extensions: { ...primitive.extensions, [VARIANTS]: { ...extension, mappings: mark } },
      };
    }),
  }));
  if (!meshes || counts.every((count) => count < 2)) return Buffer.from(JSON.stringify(json), 'utf8');
  const lists = [...texts.keys()].map((mappings) => Buffer.from(JSON.stringify(mappings), 'utf8'));
  const text = JSON.stringify({ ...json, meshes });
  const parts: Buffer[] = [];
  const found = counts.map(() => 0);
  let from = 0;
  for (const match of text.matchAll(new RegExp(`(?<!\\\\)${OPENING}(?="mappings (\\d+)")`, 'g'))) {
    const list = Number(match[1]);
    const start = match.index + match[0].length;
    parts.push(Buffer.from(text.slice(from, start), 'utf8'), lists[list] ?? Buffer.alloc(0));
    from = start + `"mappings ${match[1]}"`.length;
    if (list < found.length) found[list]!++;
    else return Buffer.from(JSON.stringify(json), 'utf8');
  }
  // a document that has such a text elsewhere
  if (found.some((count, list) => count !== counts[list])) return Buffer.from(JSON.stringify(json), 'utf8');
  parts.push(Buffer.from(text.slice(from), 'utf8'));
  return Buffer.concat(parts);
}

/** Distinct lists that a new one is compared with: those of slots, which follow each other in a file. */
const MOST_COMPARED = 64;

/**
 * Parses a document. Mappings whose bytes are equal become one object, which nobody may change.
 * @param parse reads the rest
 */
export function parseSharedJson(bytes: Buffer, parse: (bytes: Uint8Array) => GltfJson): GltfJson {
  const lists: { readonly bytes: Buffer; readonly index: number }[] = [];
  const mappings: unknown[] = [];
  const parts: Buffer[] = [];
  let replaced = 0;
  let from = 0;
  for (let at = bytes.indexOf(OPENING); at >= 0; at = bytes.indexOf(OPENING, at + OPENING.length)) {
    const start = at + OPENING.length;
    if (bytes[at - 1] === BACKSLASH || bytes[start] !== OPEN) continue;
    let list = lists.find((known) => known.bytes.equals(bytes.subarray(start, start + known.bytes.length)));
    if (!list) {
      list = { bytes: bytes.subarray(start, findEnd(bytes, start)), index: mappings.length };
      try {
        mappings.push(JSON.parse(list.bytes.toString('utf8')));
      } catch {
        return parse(bytes);
      }
      lists.unshift(list);
      if (lists.length > MOST_COMPARED) lists.pop();
    }
    parts.push(bytes.subarray(from, start), Buffer.from(String(list.index)));
    from = start + list.bytes.length;
    at = from - OPENING.length;
    replaced++;
  }
  if (replaced === mappings.length) return parse(bytes);
  const json = parse(Buffer.concat([...parts, bytes.subarray(from)]));
  for (const extension of listNumbered(json)) {
    extension.mappings = mappings[extension.mappings as number];
    replaced--;
  }
  // a document that has such a key elsewhere
  return replaced === 0 ? json : parse(bytes);
}

function listNumbered(json: GltfJson): Record<string, unknown>[] {
  const meshes = Array.isArray(json.meshes) ? json.meshes : [];
  return meshes.flatMap((mesh) =>
    (Array.isArray(mesh?.primitives) ? mesh.primitives : []).flatMap((primitive: PrimitiveJson | null) => {
      const extension = primitive?.extensions?.[VARIANTS];
      return typeof extension?.mappings === 'number' ? [extension] : [];
    }),
  );
}

/** The place after the list that opens at `start`; the end of the text if it never closes. */
function findEnd(bytes: Uint8Array, start: number): number {
  let depth = 0;
  let inText = false;
  for (let i = start; i < bytes.length; i++) {
    const byte = bytes[i];
    if (inText) {
      if (byte === BACKSLASH) i++;
      else if (byte === QUOTE) inText = false;
    } else if (byte === QUOTE) inText = true;
    else if (byte === OPEN) depth++;
    else if (byte === CLOSE && --depth === 0) return i + 1;
  }
  return bytes.length;
}

const BACKSLASH = 0x5c;
const QUOTE = 0x22;
const OPEN = 0x5b;
const CLOSE = 0x5d;
