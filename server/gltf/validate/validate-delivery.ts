import { createHash } from 'node:crypto';
import { validateString } from 'gltf-validator';
import type { ValidatorResult } from '../../core/product/survey.ts';
import { type GltfJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';
import { toResult, type ValidatorReport } from './validate-model.ts';

const DECLINED = 'source.bin';
const ADDED = 'added.bin';

/**
 * Validates a written file without reading its geometry, which went through unchanged: the validator gets the JSON with
 * buffer 0 behind a URI whose loader declines, and the bytes that were put behind the source's as buffer 1. Exactly one
 * IO_ERROR is to be expected and is taken off the count; anything else counts.
 * @param added bytes of buffer 0 from `addedStart` on
 */
export async function validateDelivery(
  json: GltfJson,
  added: Uint8Array,
  addedStart: number,
): Promise<ValidatorResult> {
  const split = splitBuffer(shortenRepeats(json), added, addedStart);
  const report = (await validateString(JSON.stringify(split), {
    maxIssues: 1000,
    writeTimestamp: false,
    externalResourceFunction: (uri) =>
      uri === ADDED ? Promise.resolve(added) : Promise.reject(new Error('left out on purpose')),
  })) as ValidatorReport;
  const result = toResult(report, Infinity);
  const declined = result.messages.filter(
    (message) => message.code === 'IO_ERROR' && message.pointer === '/buffers/0/uri',
  );
  return {
    ...result,
    errors: result.errors - declined.filter((message) => message.severity === 0).length,
    warnings: result.warnings - declined.filter((message) => message.severity === 1).length,
    messages: result.messages.filter((message) => !declined.includes(message)),
  };
}

/**
 * Of primitives that carry the very same mappings only the first shows the validator all their variants; the others show
 * one per mapping, which is enough for what depends on the primitive: whether the materials find the attributes they need.
 * Hundreds of loose parts times thousands of variants took it seconds, saying the same each time.
 */
function shortenRepeats(json: GltfJson): GltfJson {
  const seen = new Set<string>();
  const shorten = (primitive: PrimitiveJson): PrimitiveJson => {
    const extension = primitive.extensions?.[VARIANTS] as { mappings?: { variants: number[] }[] } | undefined;
    if (!extension?.mappings) return primitive;
    const key = createHash('sha256').update(JSON.stringify(extension.mappings)).digest('hex');
    if (!seen.has(key)) {
      seen.add(key);
      return primitive;
    }
    const mappings = extension.mappings.map((mapping) => ({ ...mapping, variants: mapping.variants.slice(0, 1) }));
    return { ...primitive, extensions: { ...primitive.extensions, [VARIANTS]: { ...extension, mappings } } };
  };
  const meshes = json.meshes?.map((mesh) => ({ ...mesh, primitives: mesh.primitives.map(shorten) }));
  return meshes ? { ...json, meshes } : json;
}

function splitBuffer(json: GltfJson, added: Uint8Array, addedStart: number): GltfJson {
  const [first, ...rest] = json.buffers ?? [];
  if (!first || first.uri !== undefined) return json;
  const fallbacks = rest.length;
  const views = json.bufferViews?.map((view) =>
    view.buffer === 0 && (view.byteOffset ?? 0) >= addedStart && added.length > 0
      ? { ...view, buffer: fallbacks + 1, byteOffset: (view.byteOffset ?? 0) - addedStart }
      : view,
  );
  return {
    ...json,
    ...(views && { bufferViews: views }),
    buffers: [
      {
        ...first,
        ...(addedStart > 0 ? { uri: DECLINED, byteLength: addedStart } : { uri: ADDED, byteLength: added.length }),
      },
      ...rest,
      ...(added.length > 0 && addedStart > 0 ? [{ byteLength: added.length, uri: ADDED }] : []),
    ],
  };
}
