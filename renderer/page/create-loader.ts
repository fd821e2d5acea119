import { LoadingManager, type Texture, type WebGLRenderer } from 'three';
import { MeshoptDecoder } from 'three/examples/jsm/libs/meshopt_decoder.module.js';
import { DRACOLoader } from 'three/examples/jsm/loaders/DRACOLoader.js';
import { type GLTF, GLTFLoader, type GLTFParser } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { KTX2Loader } from 'three/examples/jsm/loaders/KTX2Loader.js';

export interface LoadedFile {
  readonly gltf: GLTF;
  /** Indices of textures that could not be decoded so far; three leaves them out and goes on. */
  readonly failedTextures: ReadonlySet<number>;
}

export interface ModelLoader {
  load(url: string): Promise<LoadedFile>;
  dispose(): void;
}

/** Loads glTF of every kind that is taken: Draco, meshopt, WebP and KTX2, with the decoders built beside the page. */
export function createLoader(renderer: WebGLRenderer): ModelLoader {
  const manager = new LoadingManager();
  const draco = new DRACOLoader(manager);
  const ktx2 = new KTX2Loader(manager).detectSupport(renderer);
  return {
    async load(url) {
      const failedTextures = new Set<number>();
      const loader = new GLTFLoader(manager)
        .setDRACOLoader(draco)
        .setKTX2Loader(ktx2)
        .setMeshoptDecoder(MeshoptDecoder)
        .register((parser) => {
          watchTextures(parser, failedTextures);
          return { name: 'STUDIO_watch_textures' };
        });
      return { gltf: await loader.loadAsync(url), failedTextures };
    },
    dispose() {
      draco.dispose();
      ktx2.dispose();
    },
  };
}

/** three answers a texture that fails to decode with nothing and a line on the console: a picture must not hide it. */
function watchTextures(parser: GLTFParser, failed: Set<number>): void {
  const loadTextureImage = parser.loadTextureImage.bind(parser);
  parser.loadTextureImage = async (texture, source, loader): Promise<Texture> => {
    // typed as always there, and null when it is not
    const image = (await loadTextureImage(texture, source, loader)) as Texture | null;
    if (!image) failed.add(texture);
    return image as Texture;
  };
}
