import { createHash } from 'node:crypto';
import { validateBytes, validateString, version } from 'gltf-validator';
import type { ValidatorResult } from '../../core/product/survey.ts';
import { replaceJson } from '../document/container.ts';
import { type GltfJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';
import { shortenTree } from './shorten-tree.ts';

/** The parts of the validator's report that Dyeworks uses. */
interface ValidatorReport {
  readonly issues: {
    readonly numErrors: number;
    readonly numWarnings: number;
    readonly numInfos: number;
    readonly numHints: number;
    readonly messages: readonly { code: string; severity: number; message: string; pointer?: string }[];
  };
}

/** Most messages in a survey; a broken export can have one for every accessor. */
const KEPT_MESSAGES = 100;

/**
 * Validates a whole GLB with the Khronos glTF validator. If the validator rejects because it does not recognise the file, the
 * result has one error.
 * @param json its document, with trees of nodes
 */
export async function validateModel(bytes: Buffer, json: GltfJson): Promise<ValidatorResult> {
  try {
    const file = shortenTree(json) === json ? bytes : replaceJson(bytes, shortenTree);
    return toResult((await validateBytes(file, { maxIssues: 1000, writeTimestamp: false })) as ValidatorReport);
  } catch (error) {
    const message = {
      code: 'VALIDATOR_FAILED',
      severity: 0 as const,
      message: String(error).slice(0, 300),
      pointer: '',
    };
    return { version: version(), errors: 1, warnings: 0, infos: 0, hints: 0, messages: [message] };
  }
}

/** @param kept most messages, the worst first */
function toResult({ issues }: ValidatorReport, kept = KEPT_MESSAGES): ValidatorResult {
  const messages = issues.messages.map(({ code, severity, message, pointer }) => ({
    code,
    severity: severity as 0 | 1 | 2 | 3,
    message,
    pointer: pointer ?? '',
  }));
  messages.sort((a, b) => a.severity - b.severity);
  return {
    version: version(),
    errors: issues.numErrors,
    warnings: issues.numWarnings,
    infos: issues.numInfos,
    hints: issues.numHints,
    messages: messages.slice(0, kept),
  };
}

const DECLINED = 'source.bin';
const ADDED = 'added.bin';

/**
 * Validates a written file without its geometry, which did not change. The validator gets the JSON with buffer 0 behind a URI
 * whose loader declines, and the bytes that follow the source's as buffer 1. The IO_ERROR that this causes is removed from
 * the result; everything else counts.
 * @param added bytes of buffer 0 from `addedStart` on
 */
export async function validateDelivery(
  json: GltfJson,
  added: Uint8Array,
  addedStart: number,
): Promise<ValidatorResult> {
  const split = splitBuffer(shortenRepeats(shortenTree(json)), added, addedStart);
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
 * Shortens mappings that occur on several primitives: the first primitive keeps all variants, the others one for each mapping.
 * That is enough to check whether the primitive has the attributes that the materials need. The validator took seconds for
 * hundreds of loose parts times thousands of variants, with the same result.
 */
function shortenRepeats(json: GltfJson): GltfJson {
  const seen = new Set<string>();
  // primitives may share a list; each is digested and shortened once
  const known = new Map<unknown, { readonly key: string; readonly short: unknown }>();
  const shorten = (primitive: PrimitiveJson): PrimitiveJson => {
    const extension = primitive.extensions?.[VARIANTS] as { mappings?: { variants: number[] }[] } | undefined;
    if (!extension?.mappings) return primitive;
    let list = known.get(extension.mappings);
    if (!list) {
      const key = createHash('sha256').update(JSON.stringify(extension.mappings)).digest('hex');
      const short = extension.mappings.map((mapping) => ({ ...mapping, variants: mapping.variants.slice(0, 1) }));
      known.set(extension.mappings, (list = { key, short }));
    }
    if (!seen.has(list.key)) {
      seen.add(list.key);
      return primitive;
    }
    return {
      ...primitive,
      extensions: { ...primitive.extensions, [VARIANTS]: { ...extension, mappings: list.short } },
    };
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
