import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { createFiles } from '../db/create-files.ts';
import { createJobStore } from '../db/create-job-store.ts';
import { createPictureStore } from '../db/create-picture-store.ts';
import { createStores } from '../db/create-stores.ts';
import { openDatabase } from '../db/open-database.ts';
import { createRenderer } from '../renderer/create-renderer.ts';
import { encodePicture } from '../renderer/encode-picture.ts';
import { makeChip } from '../renderer/make-chip.ts';
import { STUDIO_VERSION } from '../renderer/studio-version.ts';
import type { Context, Imaging } from './actions/context.ts';
import { JobRunner } from './actions/job-runner.ts';
import { makeJobPicture } from './actions/make-pictures.ts';
import { StudioFiles } from './actions/studio-files.ts';
import type { Config } from './config.ts';
import { sniffImage } from './core/picture/sniff-image.ts';
import type { Renderer, RendererFacts } from './core/ports/renderer.ts';
import { Problem } from './core/problems.ts';
import { seedDemo } from './demo/seed-demo.ts';
import { findBrowser } from './find-browser.mjs';
import { createModels } from './gltf/create-models.ts';
import { buildApp } from './http/build-app.ts';
import { findWorker, ROOT } from './root.ts';

export interface Service {
  /** Listens and answers with the address; the demo and open jobs are taken up after that. */
  listen(): Promise<string>;
  /** Settles once the demo is in, or at once when there is none to fill in. */
  readonly filled: Promise<void>;
  close(): Promise<void>;
}

/** The composition root: the one place that knows every room. */
export async function createService(config: Config): Promise<Service> {
  const db = openDatabase(join(config.dataFolder, 'dyeworks.sqlite'));
  const stores = createStores(db);
  const files = createFiles(join(config.dataFolder, 'files'));
  const models = createModels(findWorker('server/gltf/worker/worker.mjs', 'gltf-worker.mjs'));
  const { renderer, facts } = openRenderer(config);
  const jobs = new JobRunner(createJobStore(db));
  const context: Context = {
    stores,
    files,
    models,
    renderer,
    jobs,
    pictures: createPictureStore(db, join(config.dataFolder, 'pictures'), config.pictureLimitBytes),
    imaging: createImaging(),
    studioFiles: new StudioFiles({ files, models, stores }),
    studioVersion: STUDIO_VERSION,
    now: () => new Date(),
  };
  const app = await buildApp({
    config,
    context,
    version: readVersion(),
    pagesFolder: join(ROOT, '.build', 'web'),
    rendererFacts: facts,
  });
  let filled = () => {};
  const whenFilled = new Promise<void>((resolve) => {
    filled = resolve;
  });
  return {
    filled: whenFilled,
    async listen() {
      const address = await app.listen({ host: config.host, port: config.port });
      setImmediate(() => {
        void jobs.start((job, part) => makeJobPicture(context, job, part));
        const demo = config.demo
          ? seedDemo(context, findWorker('server/demo/worker.mjs', 'demo-worker.mjs'))
          : Promise.resolve();
        demo.catch((error: unknown) => app.log.error({ err: error }, 'the demo could not be filled in')).then(filled);
      });
      return address;
    },
    async close() {
      // a picture under way is abandoned: it can be taken again, and a job goes on with it at the next start
      const stopped = jobs.stop();
      await renderer.close();
      await stopped;
      await app.close();
      await models.close();
      await db.destroy();
    },
  };
}

/** Without a browser everything works but pictures, and those say what is missing. */
export function openRenderer(config: Config): { renderer: Renderer; facts: () => RendererFacts | null } {
  const browserPath = findBrowser(config.browserPath);
  if (!browserPath) return { renderer: createMissingRenderer(), facts: () => null };
  let known: RendererFacts | null = null;
  const renderer = createRenderer({
    browserPath,
    studioFolder: join(ROOT, '.build', 'studio'),
    noSandbox: config.sandbox === null ? undefined : !config.sandbox,
    log: (message, details) => {
      if (config.logLevel === 'debug' || config.logLevel === 'info') console.error(message, details ?? '');
    },
  });
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
      takeProduct: (shot) => learn(renderer.takeProduct(shot)),
      takeSphere: (shot) => learn(renderer.takeSphere(shot)),
    },
  };
}

function createMissingRenderer(): Renderer {
  const refuse = async (): Promise<never> => {
    throw new Problem('renderer-missing', {
      detail:
        'No Chromium-family browser was found, so no picture can be taken. Install one, or set DYEWORKS_BROWSER to its path, and start again.',
    });
  };
  return { takeProduct: refuse, takeSphere: refuse, getFacts: refuse, close: async () => undefined };
}

export function createImaging(): Imaging {
  return {
    encode: (raw, format) => encodePicture(raw, format),
    makeChip: async (hex, sizePx, format) => encodePicture(makeChip(hex, sizePx), format, { lossless: true }),
    sniff: (bytes) => sniffImage(bytes),
    async measure(bytes) {
      const mimeType = sniffImage(bytes);
      if (mimeType === 'image/ktx2') {
        const { sizeImage } = await import('./gltf/images.ts');
        const size = sizeImage(bytes, mimeType);
        if (!size) throw new Error('the KTX2 header has no size');
        return size;
      }
      const { default: sharp } = await import('sharp');
      // the header tells the size; one decode tells whether the rest is there, but only when the size is sane
      const { width, height } = await sharp(bytes, { limitInputPixels: false }).metadata();
      if (width * height <= MEASURED_PIXELS) await sharp(bytes).stats();
      return { widthPx: width, heightPx: height };
    },
  };
}

const MEASURED_PIXELS = 8192 * 8192;

function readVersion(): string {
  return (JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { version: string }).version;
}
