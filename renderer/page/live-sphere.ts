import type { Material, MeshStandardMaterial } from 'three';
import type { ResolvedFinish } from '../../server/core/finish/resolve-finish.ts';
import { createPresenter } from './accumulate.ts';
import { createDecoders } from './decoders.ts';
import { type FindImage, writeFinishDocument } from './finish-document.ts';
import { createDocument } from './gltf-document.ts';
import { makeMaterial, toFit } from './make-material.ts';
import { createSphere } from './sphere.ts';
import { createStudioScene } from './studio-scene.ts';
import { createTextureStore, type TextureStore } from './texture-store.ts';

/** The swatch sphere on a page, in the light of the swatches. The finish need not be stored. */
export interface LiveSphere {
  /** Shows a finish; of several calls at once, the last one wins. */
  show(finish: ResolvedFinish, findImage: FindImage): Promise<void>;
  /** Call when the size of the canvas on the page changes. */
  resize(): void;
  dispose(): void;
}

/** More than two device pixels per CSS pixel make no visible difference. */
const MAX_PIXEL_RATIO = 2;

/** The material of the sphere, and the owner of its maps. */
interface ShownMaterial {
  readonly material: Material;
  readonly textures: TextureStore;
}

/** Draws on demand: at once after a change, then one subsample per frame up to the quality of a swatch. */
export function createLiveSphere(canvas: HTMLCanvasElement): LiveSphere {
  const studio = createStudioScene(canvas);
  const decoders = createDecoders(studio.renderer);
  const presenter = createPresenter(studio.renderer);
  const sphere = createSphere(studio);
  let shown: ShownMaterial | null = null;
  let asked = 0;
  let isMetal = false;
  let frame = 0;
  let taken = 0;
  let sizePx = 1;

  function restart(): void {
    taken = 0;
    if (!frame && shown) frame = requestAnimationFrame(draw);
  }

  function draw(): void {
    frame = 0;
    if (taken === 0) {
      studio.accumulator.reset();
      sphere.pose({ sizePx, widthMm: 0, flat: false, metal: isMetal });
    }
    studio.addSubsample(taken);
    presenter.show(studio.accumulator);
    taken++;
    if (taken < sphere.getSubsamples(sizePx)) frame = requestAnimationFrame(draw);
  }

  function resize(): void {
    const ratio = Math.min(globalThis.devicePixelRatio || 1, MAX_PIXEL_RATIO);
    sizePx = Math.max(1, Math.round(Math.min(canvas.clientWidth, canvas.clientHeight) * ratio));
    studio.renderer.setSize(sizePx, sizePx, false);
    studio.setSize(sizePx, sizePx);
    restart();
  }

  resize();
  return {
    async show(finish, findImage) {
      const number = ++asked;
      const document = createDocument(writeFinishDocument(finish, findImage), { follows: true });
      const textures = createTextureStore(document, decoders.images);
      const [json = {}] = document.list('materials');
      const { material } = await makeMaterial(document, json, textures, toFit(sphere.mesh.geometry, false));
      const next = { material, textures };
      if (number !== asked) return discard(next);
      const before = shown;
      shown = next;
      sphere.mesh.material = material;
      fillMetal(material, finish);
      studio.prepare(material, true);
      isMetal = finish.metalness === 1;
      restart();
      // A program lives as long as a material that uses it, so the old material is removed after the new one is drawn.
      requestAnimationFrame(() => discard(before));
    },
    resize,
    dispose() {
      asked++;
      cancelAnimationFrame(frame);
      studio.show([]);
      discard(shown);
      shown = null;
      sphere.mesh.geometry.dispose();
      for (const part of [decoders, presenter, studio]) part.dispose();
    },
  };
}

/** A delivery fills the metalness channel. Here the map is not used for metalness, with the same result. */
function fillMetal(material: Material, { metalness }: ResolvedFinish): void {
  if (metalness === 1) (material as MeshStandardMaterial).metalnessMap = null;
}

function discard(shown: ShownMaterial | null): void {
  shown?.textures.dispose();
  shown?.material.dispose();
}
