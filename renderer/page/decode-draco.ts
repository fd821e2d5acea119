import { type BufferGeometry, LoadingManager, type Mesh } from 'three';
import { DRACOLoader } from 'three/examples/jsm/loaders/DRACOLoader.js';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { FileFault, type GltfDocument } from './gltf-document.ts';
import { isComponentType } from './read-accessor.ts';
import { asIndex, asObject, type Json } from './read-json.ts';
import { recreateOnFailure } from './recreate-on-failure.ts';

/** Decodes Draco primitives. */
export interface DracoDecoder {
  /** Attributes and indices of a primitive's Draco data, under three's names. @throws FileFault */
  decode(document: GltfDocument, primitive: Json, packing: Json): Promise<BufferGeometry>;
  dispose(): void;
}

const DRACO = 'KHR_draco_mesh_compression';

/** Work that takes longer is taken for hanging. */
const DECODE_MS = 30_000;

/**
 * three's Draco loader reads attributes by their identifiers, as glTF needs it, for three's glTF loader alone. So that one
 * gets a file of nothing but the one primitive.
 */
export function createDracoDecoder(): DracoDecoder {
  const draco = recreateOnFailure(() => new DRACOLoader(new LoadingManager()), DECODE_MS);
  return {
    async decode(document, primitive, packing) {
      const bytes = await document.readView(packing.bufferView);
      const url = URL.createObjectURL(new Blob([bytes as Uint8Array<ArrayBuffer>]));
      const text = writePrimitive(document, primitive, packing, { uri: url, byteLength: bytes.length });
      try {
        return await draco.use(async (decoder) => {
          const loader = new GLTFLoader(new LoadingManager()).setDRACOLoader(decoder);
          const { scene } = await loader.parseAsync(text, '');
          return (scene.children[0] as Mesh).geometry;
        });
      } catch {
        throw new FileFault('Geometry compressed with Draco cannot be decoded.');
      } finally {
        URL.revokeObjectURL(url);
      }
    },
    dispose: () => draco.dispose(),
  };
}

function writePrimitive(document: GltfDocument, primitive: Json, packing: Json, buffer: Json): string {
  const accessors: Json[] = [];
  const attributes: Record<string, number> = {};
  const packed: Record<string, number> = {};
  for (const [name, index] of Object.entries(asObject(primitive.attributes))) {
    const { componentType, type, count, normalized } = document.list('accessors')[asIndex(index) ?? -1] ?? {};
    const id = asIndex(asObject(packing.attributes)[name]);
    if (id === undefined || !isComponentType(componentType) || asIndex(count) === undefined) continue;
    packed[name] = id;
    // bounds, which three asks for, are measured elsewhere
    attributes[name] = accessors.push({ componentType, type, count, normalized, min: [0, 0, 0], max: [0, 0, 0] }) - 1;
  }
  if (attributes.POSITION === undefined) throw new FileFault('Geometry compressed with Draco has no positions.');
  return JSON.stringify({
    asset: { version: '2.0' },
    extensionsUsed: [DRACO],
    buffers: [buffer],
    bufferViews: [{ buffer: 0, byteLength: buffer.byteLength }],
    accessors,
    meshes: [{ primitives: [{ attributes, extensions: { [DRACO]: { bufferView: 0, attributes: packed } } }] }],
    nodes: [{ mesh: 0 }],
    scenes: [{ nodes: [0] }],
    scene: 0,
  });
}
