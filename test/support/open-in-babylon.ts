import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { NullEngine } from '@babylonjs/core/Engines/nullEngine.js';
import { LoadAssetContainerAsync } from '@babylonjs/core/Loading/sceneLoader.js';
import type { PBRMaterial } from '@babylonjs/core/Materials/PBR/pbrMaterial.js';
import type { AbstractMesh } from '@babylonjs/core/Meshes/abstractMesh.js';
import { DracoDecoder } from '@babylonjs/core/Meshes/Compression/dracoDecoder.js';
import { MeshoptCompression } from '@babylonjs/core/Meshes/Compression/meshoptCompression.js';
import type { TransformNode } from '@babylonjs/core/Meshes/transformNode.js';
import { Logger } from '@babylonjs/core/Misc/logger.js';
import { Scene } from '@babylonjs/core/scene.js';
import { KHR_materials_variants } from '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_variants.js';
import draco3d from 'draco3dgltf';
import { MeshoptDecoder } from 'meshoptimizer';
import '@babylonjs/loaders/glTF/2.0/Extensions/EXT_meshopt_compression.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/EXT_texture_webp.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_draco_mesh_compression.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_clearcoat.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_ior.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_sheen.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_specular.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_transmission.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_mesh_quantization.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_texture_transform.js';
import '@babylonjs/loaders/glTF/2.0/glTFLoader.js';

/** A file as an independent engine reads it. */
interface OpenedInBabylon {
  readonly variants: readonly string[];
  select(variant: string): void;
  /** Every visible mesh: its origin in the file, and its current material. */
  list(): readonly SlotFinish[];
  /** Triangles of all meshes, including instances. */
  countTriangles(): number;
  close(): void;
}

export interface SlotFinish {
  /** `/meshes/{m}/primitives/{p}`, as the loader records it on the objects it makes. */
  readonly pointer: string;
  readonly material: string;
  /** Linear RGB. */
  readonly albedo: readonly [number, number, number];
  readonly roughness: number | null;
  readonly metallic: number | null;
}

// the engine would fetch its decoders from the network
DracoDecoder.DefaultConfiguration = {
  jsModule: (draco3d as { createDecoderModule: unknown }).createDecoderModule,
  wasmUrl: 'none',
  wasmBinary: new Uint8Array(
    readFileSync(createRequire(import.meta.url).resolve('draco3dgltf/draco_decoder_gltf.wasm')),
  ).buffer,
  numWorkers: 0,
};
Object.defineProperty(MeshoptCompression, 'Default', {
  value: {
    async decodeGltfBufferAsync(source: Uint8Array, count: number, stride: number, mode: string, filter?: string) {
      await MeshoptDecoder.ready;
      const target = new Uint8Array(count * stride);
      MeshoptDecoder.decodeGltfBuffer(target, count, stride, source, mode, filter);
      return target;
    },
  },
});

/** Loads a GLB in Babylon.js with its NullEngine: its own loader, no GPU, no browser, no network. */
export async function openInBabylon(glb: Uint8Array): Promise<OpenedInBabylon> {
  Logger.LogLevels = Logger.WarningLogLevel | Logger.ErrorLogLevel;
  const engine = new NullEngine();
  const scene = new Scene(engine);
  const container = await LoadAssetContainerAsync(glb, scene, { pluginExtension: '.glb' });
  container.addAllToScene();
  const root = container.rootNodes[0] as TransformNode;
  return {
    variants: KHR_materials_variants.GetAvailableVariants(root),
    select: (variant) => KHR_materials_variants.SelectVariant(root, variant),
    list: () => container.meshes.filter((mesh) => mesh.getTotalVertices() > 0).map(describe),
    countTriangles: () =>
      container.meshes.reduce(
        (sum, mesh) => sum + Math.floor((mesh.getTotalIndices() || mesh.getTotalVertices()) / 3),
        0,
      ),
    close() {
      scene.dispose();
      engine.dispose();
    },
  };
}

function describe(mesh: AbstractMesh): SlotFinish {
  const { albedoColor, name, roughness, metallic } = mesh.material as PBRMaterial;
  const notes = mesh._internalMetadata as { gltf?: { pointers?: string[] } } | null;
  const pointers =
    notes?.gltf?.pointers ?? (mesh.metadata as { gltf?: { pointers?: string[] } } | null)?.gltf?.pointers;
  return {
    pointer: pointers?.find((pointer) => pointer.includes('/primitives/')) ?? '',
    material: name,
    albedo: [albedoColor.r, albedoColor.g, albedoColor.b],
    roughness,
    metallic,
  };
}
