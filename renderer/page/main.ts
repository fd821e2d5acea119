import { STUDIO_VERSION } from '../studio-version.ts';
import { createDecoders } from './decoders.ts';
import { calibrate, shootCard } from './grey-card.ts';
import { createContextLossDetector, refuseBrokenShaders, StudioProblem } from './studio-problem.ts';
import { createStudioScene, getGlName, PRODUCT_RIG } from './studio-scene.ts';
import type { TakenLayer } from './take-layers.ts';
import { createProductStudio, type LayersShotOrder, type ProductOrder } from './take-product.ts';
import { createSwatchStudio, type SwatchOrder } from './take-swatch.ts';
import { drawToneChart, takeEvenly } from './test-shots.ts';

/**
 * The outcome of a shot. Pixels go by POST; only this comes back through the browser's own channel. After
 * `context-lost` the page is unusable, but the shot may succeed in another page. `indivisible`: the picture has no tiles.
 */
export type ShotAnswer =
  | { readonly ok: true }
  | { readonly ok: false; readonly code: string; readonly message: string };

export interface StudioFacts {
  readonly gl: string;
  readonly exposure: number;
  /** Linear value of the grey card after the tone curve. */
  readonly greyCard: number;
  readonly studio: string;
}

interface CameraFacts {
  readonly world: readonly number[];
  readonly projection: readonly number[];
}

/** The functions that the Node side calls in the page. */
export interface StudioPage {
  getFacts(): StudioFacts;
  takeProduct(order: ProductOrder, pixelsUrl: string): Promise<ShotAnswer>;
  /**
   * Sends layers one after the other, each after two boxes: that of the whole layer and that of its piece in the tile. A box is
   * left, top, width, height, 32 bits each in this machine's order.
   */
  takeLayers(order: LayersShotOrder, pixelsUrl: string): Promise<ShotAnswer>;
  takeSwatch(order: SwatchOrder, pixelsUrl: string): Promise<ShotAnswer>;
  /** Either of them under even light ({@link takeEvenly}): 16 bytes per pixel. */
  takeEvenly(order: ProductOrder | SwatchOrder, pixelsUrl: string): Promise<ShotAnswer>;
  /** The camera of the last shot: world matrix and projection, column by column. */
  getCamera(): CameraFacts;
  drawToneChart(colours: readonly (readonly [number, number, number])[]): number[][];
}

declare global {
  var studioPage: StudioPage | undefined;
  /** The reason why the studio could not start. */
  var studioFailure: string | undefined;
}

try {
  globalThis.studioPage = openStudio();
} catch (error) {
  globalThis.studioFailure = error instanceof Error ? error.message : String(error);
}

function openStudio(): StudioPage {
  const studio = createStudioScene(new OffscreenCanvas(1, 1));
  const exposure = calibrate(studio, PRODUCT_RIG);
  const decoders = createDecoders(studio.renderer);
  const products = createProductStudio(studio, decoders);
  const swatches = createSwatchStudio(studio, decoders);
  const lossDetector = createContextLossDetector(studio.renderer);

  async function answer(take: () => Promise<Uint8Array | Blob | null>, pixelsUrl: string): Promise<ShotAnswer> {
    try {
      const pixels = await take();
      if (pixels === null) return { ok: false, code: 'indivisible', message: '' };
      if (!lossDetector.isThere()) throw new Error('The GL context was lost.');
      refuseBrokenShaders(studio.renderer, studio.turntable);
      const sent = await fetch(pixelsUrl, { method: 'POST', body: pixels as Uint8Array<ArrayBuffer> | Blob });
      if (!sent.ok) throw new Error(`The pixels were not taken: ${sent.status}.`);
      return { ok: true };
    } catch (error) {
      // Without a context, three fails in many ways that the order did not cause.
      if (!lossDetector.isThere()) return { ok: false, code: 'context-lost', message: 'The GL context was lost.' };
      const code = error instanceof StudioProblem ? error.code : 'renderer-failed';
      return { ok: false, code, message: error instanceof Error ? error.message : String(error) };
    }
  }

  return {
    getFacts() {
      return {
        gl: getGlName(studio.renderer),
        exposure,
        greyCard: shootCard(studio, PRODUCT_RIG),
        studio: STUDIO_VERSION,
      };
    },
    takeProduct: (order, pixelsUrl) => answer(() => products.take(order), pixelsUrl),
    takeLayers: (order, pixelsUrl) => answer(async () => join(await products.takeLayers(order)), pixelsUrl),
    takeSwatch: (order, pixelsUrl) => answer(() => swatches.take(order), pixelsUrl),
    takeEvenly: (order, pixelsUrl) =>
      answer(
        () => takeEvenly(studio, () => ('assignments' in order ? products.take(order) : swatches.take(order))),
        pixelsUrl,
      ),
    getCamera() {
      const { matrixWorld, projectionMatrix } = studio.getCamera();
      return { world: matrixWorld.toArray(), projection: projectionMatrix.toArray() };
    },
    drawToneChart: (colours) => drawToneChart(studio, colours),
  };
}

function join(layers: readonly TakenLayer[]): Blob {
  const parts = layers.flatMap(({ whole, box, bytes }) => [
    new Uint32Array([whole, box].flatMap(({ left, top, widthPx, heightPx }) => [left, top, widthPx, heightPx])),
    bytes as Uint8Array<ArrayBuffer>,
  ]);
  return new Blob(parts);
}
