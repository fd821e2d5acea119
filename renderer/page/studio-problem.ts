import {
  Color,
  type Material,
  type Mesh,
  type MeshPhysicalMaterial,
  NearestFilter,
  type Object3D,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import type { PictureRefusal } from '../../server/core/ports/renderer.ts';
import { STUDIO_PROBLEMS } from '../../server/core/texts/problems/picture.ts';
import { listTextures } from './studio-shading.ts';

/**
 * A shot that the page refuses; the Node side answers with the problem `code`. After `shader-failed` (there
 * `renderer-failed`) and `picture-too-many-maps` the page is not used again.
 */
export class StudioProblem extends Error {
  override readonly name = 'StudioProblem';
  readonly code: PictureRefusal | 'renderer-failed' | 'shader-failed';

  constructor(code: StudioProblem['code'], message: string) {
    super(message);
    this.code = code;
  }
}

/** Checks whether the GL context was lost. */
interface ContextLossDetector {
  isThere(): boolean;
}

/** Bytes of the pixel. None of them is zero, because a lost context reads as zeros. */
const COLOUR = [51, 102, 153, 255] as const;

/**
 * Keeps a pixel of known colour on the GPU. A context whose process has died reads as zeros at once, but
 * `isContextLost` and its event follow some hundredths of a second later. A picture read in between would be empty.
 */
export function createContextLossDetector(renderer: WebGLRenderer): ContextLossDetector {
  const target = new WebGLRenderTarget(1, 1, {
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthBuffer: false,
  });
  const [colour, alpha] = [renderer.getClearColor(new Color()), renderer.getClearAlpha()];
  renderer.setRenderTarget(target);
  // sRGB bytes without conversion.
  renderer.setClearColor(new Color().setRGB(...toShares(COLOUR)), 1);
  renderer.clear();
  renderer.setClearColor(colour, alpha);
  renderer.setRenderTarget(null);
  return {
    isThere() {
      const pixel = new Uint8Array(4);
      renderer.readRenderTargetPixels(target, 0, 0, 1, 1, pixel);
      return COLOUR.every((level, channel) => level === pixel[channel]);
    },
  };
}

function toShares([red, green, blue]: readonly [number, number, number, number]): [number, number, number] {
  return [red / 255, green / 255, blue / 255];
}

/** Textures that the studio adds to a material: light, its table, a page of depth maps, the floor's map. */
const STUDIO_TEXTURES = 4;

/** The parts of the renderer that are needed here. */
type Graphics = Pick<WebGLRenderer, 'info' | 'properties' | 'capabilities'>;

/**
 * Refuses a picture if the shader program of a part failed. three reports it on the console, omits the part and
 * continues. The page must not be used again, because three keeps a failed program for the next material.
 * @param scene content of the picture
 * @throws StudioProblem that names the part
 */
export function refuseBrokenShaders({ info, properties, capabilities }: Graphics, scene: Object3D): void {
  const broken = new Set<unknown>(info.programs?.filter(isBroken));
  if (broken.size === 0) return;
  let part: Mesh | undefined;
  scene.traverse((node) => {
    const { material } = node as Mesh;
    if (!material || Array.isArray(material)) return;
    const { programs } = properties.get(material) as { programs?: ReadonlyMap<string, unknown> };
    if ([...(programs?.values() ?? [])].some((program) => broken.has(program))) part ??= node as Mesh;
  });
  const material = part?.material as Material | undefined;
  const isTooMany = material !== undefined && countTextures(material) > capabilities.maxTextures;
  throw isTooMany
    ? new StudioProblem(
        'picture-too-many-maps',
        STUDIO_PROBLEMS['picture-too-many-maps'](name(part), countTextures(material), capabilities.maxTextures),
      )
    : new StudioProblem('shader-failed', STUDIO_PROBLEMS['renderer-failed'].shader(name(part)));
}

/** three's types lack the diagnostics of a program. */
function isBroken(program: unknown): boolean {
  return (program as { diagnostics?: { readonly runnable: boolean } }).diagnostics?.runnable === false;
}

/** A part and its material, for a sentence. */
function name(part: Mesh | undefined): string {
  const material = part?.material as Material | undefined;
  const names = [material?.name && `the material “${material.name}”`, part?.name && `on “${part.name}”`];
  return names.filter(Boolean).join(' ') || 'a material';
}

function countTextures(material: Material): number {
  const seenThrough = (material as MeshPhysicalMaterial).transmission > 0 ? 1 : 0;
  return listTextures(material).length + STUDIO_TEXTURES + seenThrough;
}
