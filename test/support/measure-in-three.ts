import { MeshoptDecoder } from 'meshoptimizer';
import { Box3 } from 'three';
import { GLTFLoader } from 'three/addons/loaders/GLTFLoader.js';
import { editGlb } from './glb.ts';

/** The scene's box by three.js, vertex by vertex, metres. It needs no textures, which cannot be decoded here. */
export async function measureInThree(bytes: Uint8Array): Promise<{ min: number[]; max: number[] }> {
  const bare = editGlb(bytes, (json) => {
    json.materials = json.materials?.map(({ name }) => (name === undefined ? {} : { name }));
    delete json.textures;
    delete json.images;
    delete json.samplers;
  });
  const buffer = bare.buffer.slice(bare.byteOffset, bare.byteOffset + bare.length) as ArrayBuffer;
  const { scene } = await new GLTFLoader().setMeshoptDecoder(MeshoptDecoder).parseAsync(buffer, '');
  scene.updateMatrixWorld(true);
  const box = new Box3().setFromObject(scene, true);
  return { min: box.min.toArray(), max: box.max.toArray() };
}
