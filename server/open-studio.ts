import { join } from 'node:path';
import { holdLock } from '../db/hold-lock.ts';
import { createRenderer } from '../renderer/create-renderer.ts';
import { encodeFile, encodePicture, makeChip } from '../renderer/encode-picture.ts';
import type { PixelThreads } from '../renderer/pixels/pixel-threads.ts';
import { limitWork } from '../renderer/queues.ts';
import type { Imaging } from './actions/context.ts';
import type { Config } from './config.ts';
import { type ConvertedColour, sniffImage } from './core/finish/map-image.ts';
import type { ModelWork } from './core/ports/models.ts';
import type { Renderer, RendererFacts } from './core/ports/renderer.ts';
import { Problem } from './core/problems.ts';
import { PICTURE_PROBLEMS } from './core/texts/problems/picture.ts';
import { findBrowser } from './find-browser.mjs';
import { measureSwatch } from './images/measure-swatch.ts';
import { BUILT } from './root.ts';

/** Pictures that are encoded at once, beside one per thread: the next one is handed over meanwhile. */
const ENCODING_BESIDE = 1;
/** Pictures that may wait. Each needs about 16 MB. */
const ENCODING_WAITING = 200;

/** Without a browser everything works except pictures, which fail with `renderer-missing`. */
export function openRenderer(config: Config): Renderer {
  const browserPath = findBrowser(config.browserPath);
  if (!browserPath) return createMissingRenderer();
  return createRenderer({
    browserPath,
    studioFolder: join(BUILT, 'studio'),
    noSandbox: config.sandbox === null ? undefined : !config.sandbox,
    holdLock,
    log: (message, details) => {
      if (config.logLevel === 'debug' || config.logLevel === 'info') console.error(message, details ?? '');
    },
  });
}

/** The same renderer, and the facts of its browser from its first picture on: asking for them would start one. */
export function rememberFacts(renderer: Renderer): { renderer: Renderer; facts: () => RendererFacts | null } {
  let known: RendererFacts | null = null;
  const learn = async <T>(work: Promise<T>): Promise<T> => {
    const result = await work;
    if (!known)
      void renderer.getFacts().then(
        (facts) => (known = facts),
        () => undefined,
      );
    return result;
  };
  return {
    facts: () => known,
    renderer: {
      ...renderer,
      takeProduct: (shot, turn) => learn(renderer.takeProduct(shot, turn)),
      takeLayers: (shot, turn) => learn(renderer.takeLayers(shot, turn)),
      takeSwatch: (shot, turn) => learn(renderer.takeSwatch(shot, turn)),
      takeSphere: (shot, turn) => learn(renderer.takeSphere(shot, turn)),
    },
  };
}

function createMissingRenderer(): Renderer {
  const refuse = async (): Promise<never> => {
    throw new Problem('renderer-missing', {
      detail: PICTURE_PROBLEMS['renderer-missing'],
    });
  };
  return {
    takeProduct: refuse,
    takeLayers: refuse,
    takeSwatch: refuse,
    takeSphere: refuse,
    printSheet: refuse,
    getFacts: refuse,
    close: async () => undefined,
  };
}

interface ImagingOptions {
  readonly threads: PixelThreads;
  /** Functions that work on maps in another thread. Without one, this thread does its work. */
  readonly measureFile?: Imaging['measure'];
  readonly measureMap?: Imaging['measureMap'];
  readonly convertToSrgb?: (bytes: Uint8Array, work?: ModelWork) => Promise<ConvertedColour | null>;
  readonly levelImage?: Imaging['levelImage'];
}

/** Reads and writes image files, a few at a time and off the event loop. */
export function createImaging({
  threads,
  measureFile,
  measureMap,
  convertToSrgb,
  levelImage,
}: ImagingOptions): Imaging {
  const limit = limitWork(threads.count + ENCODING_BESIDE, ENCODING_WAITING);
  const decode = (bytes: Uint8Array) => limit(async () => (await import('./images/image-codec.ts')).readPicture(bytes));
  const encode: Imaging['encode'] = (raw, format, options) =>
    limit(() => (format === 'png' ? threads.run({ kind: 'png', raw }) : encodePicture(raw, format, options)));
  return {
    encode,
    encodeFile: (raw, encoding) => limit(() => encodeFile(raw, encoding)),
    decode,
    measureColour: async (bytes, field, onWhite) => measureSwatch(await decode(bytes), field, onWhite),
    makeChip: async (hex, sizePx, format) => encode(makeChip(hex, sizePx), format, { lossless: true }),
    sniff: (bytes) => sniffImage(bytes),
    measure: async (bytes, work) =>
      measureFile ? measureFile(bytes, work) : (await import('./images/measure-map.ts')).measureImageFile(bytes),
    async convertToSrgb(bytes, work) {
      if (sniffImage(bytes) === 'image/ktx2') return null;
      return convertToSrgb
        ? convertToSrgb(bytes, work)
        : (await import('./images/convert-to-srgb.ts')).convertToSrgb(bytes);
    },
    measureMap: async (bytes) =>
      measureMap ? measureMap(bytes) : (await import('./images/measure-map.ts')).measureStoredFile(bytes),
    levelImage: async (bytes, tables) =>
      levelImage ? levelImage(bytes, tables) : (await import('./images/remake-map.ts')).levelImage(bytes, tables),
  };
}
