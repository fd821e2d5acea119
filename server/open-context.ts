import { availableParallelism, totalmem } from 'node:os';
import { join } from 'node:path';
import { createArchives } from '../db/archive/create-archives.ts';
import { createFiles } from '../db/create-files.ts';
import { createJobStore } from '../db/create-job-store.ts';
import { createPictureStore } from '../db/create-picture-store.ts';
import { createStores } from '../db/create-stores.ts';
import { openDatabase } from '../db/open-database.ts';
import { sweepFiles } from '../db/sweep-files.ts';
import { createLayers } from '../renderer/layers/create-layers.ts';
import { createPixelThreads, type PixelThreads } from '../renderer/pixels/pixel-threads.ts';
import { STUDIO_VERSION } from '../renderer/studio-version.ts';
import type { Context } from './actions/context.ts';
import { JobRunner } from './actions/job-runner.ts';
import { steadyNow } from './actions/steady-now.ts';
import { StudioFileCache } from './actions/studio-files.ts';
import { LOG_TEXTS } from './commands/texts.ts';
import type { Config } from './config.ts';
import type { Renderer } from './core/ports/renderer.ts';
import { chooseModelLimits, type ModelLimits } from './gltf/choose-model-limits.ts';
import { createModels } from './gltf/create-models.ts';
import { openArchive } from './gltf/receive/read-archive.ts';
import { createRecordCheck } from './http/check-records.ts';
import { createImports } from './import/create-imports.ts';
import { createImaging, openRenderer, rememberFacts } from './open-studio.ts';
import { createPlanner } from './planning/create-planner.ts';
import { BUILD, readVersion, WORKERS } from './root.ts';

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
 * Connects the ports over one data folder. Whoever calls this holds the folder, and closes the database and the engines.
 * @throws Problem for a database that cannot be opened
 */
export async function openContext(config: Config, engines: Engines) {
  const version = readVersion();
  const db = await openDatabase(join(config.dataFolder, 'dyeworks.sqlite'));
  const stores = createStores(db);
  const files = createFiles(join(config.dataFolder, 'files'));
  const { models, imports, planner, threads } = engines;
  const { renderer, facts } = rememberFacts(engines.renderer);
  const jobs = new JobRunner(createJobStore(db), logJobs, steadyNow, countPartsAtOnce());
  const pictures = createPictureStore(db, join(config.dataFolder, 'pictures'), config.pictureLimitBytes, {
    report: (fault) => console.error(LOG_TEXTS.pictureNotStored, fault),
  });
  const graceMs = config.unusedDays * 86_400_000;
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
    archives: createArchives({
      db,
      stores,
      files,
      folder: config.dataFolder,
      openZip: openLineArchive,
      checkRow: createRecordCheck(),
      version,
      now: () => new Date(),
    }),
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
  const sweep = (signal: AbortSignal) => sweepFiles({ db, files, pictures, graceMs, signal });
  return { context, db, jobs, facts, sweep };
}

/** Files of an archive, and bytes that one byte of it may unpack to: records are text, and all else is stored as it is. */
const ARCHIVE_LIMITS = { totalBytes: 64 * 1024 ** 3, files: 200_000, ratio: 20 };

const openLineArchive = (path: string) => openArchive(path, ARCHIVE_LIMITS);

/** Ends the threads. The browser has its own end, since a service waits for it longer. */
export async function closeThreads({ threads, models, imports, planner }: Engines): Promise<void> {
  await Promise.all([threads.close(), models.close(), imports.close(), planner.close()]);
}

function limitModels({ modelThreads, modelMemoryMib, modelSeconds }: Config): ModelLimits {
  // a container may have less memory than its machine
  const memoryBytes = Math.min(totalmem(), process.constrainedMemory() || totalmem());
  return chooseModelLimits(
    { cores: availableParallelism(), memoryBytes },
    { threads: modelThreads, memoryMib: modelMemoryMib, seconds: modelSeconds },
  );
}

export function logJobs(error: unknown): void {
  console.error(LOG_TEXTS.jobNotSaved, error);
}

/** At least two, so that one waits for the studio while the other is composed. More than four only need more memory. */
function countPartsAtOnce(): number {
  return Math.min(4, Math.max(2, availableParallelism()));
}
