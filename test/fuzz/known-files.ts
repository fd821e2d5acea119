import { zipSync } from 'fflate';
import type { GltfJson } from '../../server/gltf/document/json.ts';
import { pngHeader, TRIANGLE_BIN, triangleGlb, triangleJson } from '../support/bad-models.ts';
import { makeWholeImages } from '../support/damage-images.ts';
import { readGlb } from '../support/glb.ts';
import { HOSTILE_MEASUREMENTS } from '../support/hostile-measurements.ts';
import { GROWING_MODELS } from '../support/hostile-models.ts';
import { makeSpectraCsv } from '../support/measurements.ts';
import { listOddModels, makeRichModels } from '../support/odd-models.ts';
import { readRegistryModel } from '../support/registry-models.ts';

export interface KnownModel {
  readonly name: string;
  readonly json: GltfJson;
  readonly bin: Buffer;
}

export interface KnownFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Real models of a few hundred kilobytes, from the registry. */
const REGISTRY = ['oculus-go/none.glb', 'generic-hand/left.glb', 'magicleap-one/none.glb', 'samsung-gearvr/none.glb'];

/** The models that are mutated: made ones with one of everything, odd ones, growing ones, and real ones. */
export async function listKnownModels(): Promise<KnownModel[]> {
  const files: [string, Buffer][] = [
    ['triangle', triangleGlb()],
    ...Object.entries(await makeRichModels()),
    ...Object.entries(listOddModels()),
    ...Object.entries(GROWING_MODELS).map(([name, make]) => [name, make(40)] as [string, Buffer]),
    ...REGISTRY.map((path) => [path, readRegistryModel(path)] as [string, Buffer]),
  ];
  return files.map(([name, bytes]) => {
    const { json, bin } = readGlb(bytes);
    return { name, json, bin: bin as Buffer };
  });
}

export async function listKnownImages(): Promise<KnownFile[]> {
  return [
    ...(await makeWholeImages()).map(({ name, bytes }) => ({ name, bytes })),
    { name: 'PNG of 60,000 px', bytes: pngHeader(60_000, 60_000) },
    { name: 'PNG of 16,000 px', bytes: pngHeader(16_000, 16_000) },
  ];
}

export function listKnownMeasurements(): KnownFile[] {
  const texts: [string, string][] = [
    ['spectra', makeSpectraCsv(20)],
    ['CSV', 'code;name;hex;gloss60\nA;"a ""b""";#2f5d73;3,5\nB;b;#112233;\n'],
    ...Object.entries(HOSTILE_MEASUREMENTS).map(([name, make]) => [name, make(60)] as [string, string]),
  ];
  return texts.map(([name, text]) => ({ name, bytes: new TextEncoder().encode(text) }));
}

/** A zip of a model in parts, which the mutations then change byte by byte. */
export function packInZip(json: unknown, bin: Uint8Array, level: number): Buffer {
  const parts = { 'model.gltf': new TextEncoder().encode(JSON.stringify(json)), 'model.bin': bin };
  return Buffer.from(zipSync(parts, { level: (level % 10) as 0 }));
}

/** The document as a `.gltf` that has its bytes in a file, or in itself. */
export function withUri(json: unknown, bin: Uint8Array, isData: boolean): unknown {
  const copy = structuredClone(json) as { buffers?: { uri?: string }[] };
  const first = Array.isArray(copy?.buffers) ? copy.buffers[0] : undefined;
  if (typeof first === 'object' && first !== null && first.uri === undefined) {
    first.uri = isData ? `data:application/octet-stream;base64,${Buffer.from(bin).toString('base64')}` : 'model.bin';
  }
  return copy;
}

export const PLAIN = { json: triangleJson() as unknown as GltfJson, bin: TRIANGLE_BIN };
