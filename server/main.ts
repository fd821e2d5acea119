import { readFileSync } from 'node:fs';
import { availableParallelism, totalmem } from 'node:os';
import { join } from 'node:path';
import { createReadyCheck } from '../db/check-ready.ts';
import { createAccessStore } from '../db/create-access-store.ts';
import { createFiles } from '../db/create-files.ts';
import { createJobStore } from '../db/create-job-store.ts';
import { createPictureStore } from '../db/create-picture-store.ts';
import { createStores } from '../db/create-stores.ts';
import type { Lock } from '../db/hold-lock.ts';
import { lockDataFolder } from '../db/lock-data-folder.ts';
import { openDatabase } from '../db/open-database.ts';
import { sweepFiles, sweepRegularly } from '../db/sweep-files.ts';
import { createLayers } from '../renderer/layers/create-layers.ts';
import { createPixelThreads, type PixelThreads } from '../renderer/pixels/pixel-threads.ts';
import { STUDIO_VERSION } from '../renderer/studio-version.ts';
import { createPassphrases } from './access/create-passphrases.ts';
import { type Access, GuessBook } from './actions/access.ts';
import type { Context } from './actions/context.ts';
import { JobRunner } from './actions/job-runner.ts';
import { loadFinishes } from './actions/load-finishes.ts';
import { makeSetFile } from './actions/picture-set-job.ts';
import { makeJobPicture } from './actions/pictures-job.ts';
import { settleWithin } from './actions/settle-within.ts';
import { steadyNow } from './actions/steady-now.ts';
import { StudioFileCache } from './actions/studio-files.ts';
import { workFor } from './actions/turns.ts';
import { LOG_TEXTS } from './commands/texts.ts';
import type { Config } from './config.ts';
import type { Job } from './core/job/job.ts';
import type { Renderer } from './core/ports/renderer.ts';
import { Problem } from './core/problems.ts';
import { REQUEST_PROBLEMS } from './core/texts/problems/request.ts';
import { seedDemo } from './demo/seed-demo.ts';
import { takeFirstPictures } from './demo/take-first-pictures.ts';
import { chooseModelLimits, type ModelLimits } from './gltf/choose-model-limits.ts';
import { createModels } from './gltf/create-models.ts';
import { buildApp } from './http/build-app.ts';
import { createImports } from './import/create-imports.ts';
import { createImaging, openRenderer, rememberFacts } from './open-studio.ts';
import { createPlanner } from './planning/create-planner.ts';
import { BUILD, BUILT, ROOT, WORKERS } from './root.ts';

interface Service {
  /** Listens, and resolves to the address. After that the demo is filled in, and open jobs continue. */
  listen(): Promise<string>;
  /** Settles when the demo is filled in; at once without a demo. */
  readonly filled: Promise<void>;
  /**
   * Accepts no more calls, ends streams of events, and waits some seconds for calls and work under way. Then it abandons
   * them: jobs continue at the next start, and no write is half done.
   */
  close(): Promise<void>;
}

/** Time that calls and work under way have to end when the service closes. A supervisor kills after ten seconds or more. */
const DRAIN_MS = 3_000;

/** What holds no data of a service: threads and the browser. */
export interface Engines {
  readonly models: ReturnType<typeof createModels>;
  readonly imports: ReturnType<typeof createImports>;
  readonly planner: ReturnType<typeof createPlanner>;
  readonly threads: PixelThreads;
  /** Its browser starts with the first picture. */
  readonly renderer: Renderer;
}

export function openEngines(config: Config): Engines {
  return {
    models: createModels(WORKERS.models, limitModels(config)),
    imports: createImports(WORKERS.imports),
    planner: createPlanner(WORKERS.planning),
    threads: createPixelThreads(WORKERS.pixels),
    renderer: openRenderer(config),
  };
}

/**
 * The composition root: the only place that knows every room.
 * @param engines by default the service's own; it closes them when it closes
 * @throws Problem `data-folder-in-use`
 */
export async function createService(config: Config, engines?: Engines): Promise<Service> {
  const lock = lockDataFolder(config.dataFolder);
  try {
    return await openService(config, engines ?? openEngines(config), lock);
  } catch (error) {
    lock.release();
    throw error;
  }
}

async function openService(config: Config, engines: Engines, lock: Lock): Promise<Service> {
  const version = readVersion();
  const db = await openDatabase(join(config.dataFolder, 'dyeworks.sqlite'));
  const stores = createStores(db);
  const files = createFiles(join(config.dataFolder, 'files'));
  const { models, imports, planner, threads } = engines;
  const { renderer, facts } = rememberFacts(engines.renderer);
  const logJobs = (error: unknown) => console.error(LOG_TEXTS.jobNotSaved, error);
  const jobs = new JobRunner(createJobStore(db), logJobs, steadyNow, countPartsAtOnce());
  const pictures = createPictureStore(db, join(config.dataFolder, 'pictures'), config.pictureLimitBytes, {
    report: (fault) => console.error(LOG_TEXTS.pictureNotStored, fault),
  });
  const graceMs = config.unusedDays * 86_400_000;
  const sweeping = sweepRegularly(
    (signal) => sweepFiles({ db, files, pictures, graceMs, signal }),
    (error) => console.error(LOG_TEXTS.notSwept, error),
  );
  const layers = createLayers({
    store: pictures,
    cacheLimitBytes: config.layerMemoryBytes,
    guestShare: config.publicParts.has('pictures') ? 0.25 : 0,
    threads,
  });
  const imaging = createImaging({
    threads,
    measureFile: models.measureFile,
    measureMap: models.measureMap,
    convertToSrgb: models.convertToSrgb,
    levelImage: models.levelImage,
  });
  const context: Context = {
    stores,
    files,
    models,
    imports,
    planner,
    renderer,
    jobs,
    pictures,
    layers,
    imaging,
    studioFiles: new StudioFileCache({ files, models, stores, imaging, pictures }),
    studioVersion: STUDIO_VERSION,
    build: `${version} ${BUILD}`,
    version,
    now: () => new Date(),
  };
  const closing = new AbortController();
  const checkStore = createReadyCheck(db, config.dataFolder);
  const checkReady = async () => {
    const fault = closing.signal.aborted ? 'closing' : await checkStore();
    if (fault) throw new Problem('not-ready', { detail: REQUEST_PROBLEMS['not-ready'][fault] });
  };
  const access: Access = {
    store: createAccessStore(db),
    passphrases: createPassphrases(),
    guesses: new GuessBook(steadyNow),
    now: context.now,
  };
  const app = await buildApp({
    config,
    context,
    access,
    // loaded only where a house has its own sign-in
    house: config.house && (await import('./access/create-house-sign-in.ts')).createHouseSignIn(config.house),
    version,
    pagesFolder: join(BUILT, 'web'),
    rendererFacts: facts,
    checkReady,
    closing: closing.signal,
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
        const doPart = (job: Job, part: number) =>
          workFor({ rank: 'job', name: job.id }, () =>
            job.kind === 'picture-set' ? makeSetFile(context, job, part) : makeJobPicture(context, job, part),
          );
        jobs.start(doPart).catch(logJobs);
        // measures colour maps that are not measured yet, so that no page has to wait for it
        loadFinishes(context).catch((error: unknown) => app.log.error({ err: error }, LOG_TEXTS.mapsNotRead));
        const demo = config.demo
          ? workFor({ rank: 'job', name: 'demo' }, () => seedDemo(context, WORKERS.demo))
          : Promise.resolve([]);
        demo.then(
          (products) => {
            filled();
            void workFor({ rank: 'job', name: 'demo' }, () => takeFirstPictures(context, products, closing.signal));
          },
          (error: unknown) => {
            app.log.error({ err: error }, LOG_TEXTS.demoNotFilled);
            filled();
          },
        );
      });
      return address;
    },
    async close() {
      closing.abort();
      // this stops listening at once
      const closed = app.close();
      // abandons the current picture: its job takes it again at the next start
      const ended = Promise.allSettled([closed, jobs.stop(), renderer.close()]);
      await settleWithin(ended, DRAIN_MS);
      app.server.closeAllConnections();
      await closed;
      await Promise.all([threads.close(), models.close(), imports.close(), planner.close()]);
      await settleWithin(ended, DRAIN_MS / 3);
      await sweeping.stop();
      await db.destroy();
      lock.release();
    },
  };
}

function limitModels({ modelThreads, modelMemoryMib, modelSeconds }: Config): ModelLimits {
  // a container may have less memory than its machine
  const memoryBytes = Math.min(totalmem(), process.constrainedMemory() || totalmem());
  return chooseModelLimits(
    { cores: availableParallelism(), memoryBytes },
    { threads: modelThreads, memoryMib: modelMemoryMib, seconds: modelSeconds },
  );
}

/** At least two, so that one waits for the studio while the other is composed. More than four only need more memory. */
function countPartsAtOnce(): number {
  return Math.min(4, Math.max(2, availableParallelism()));
}

function readVersion(): string {
  return (JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { version: string }).version;
}
