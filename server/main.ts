import { join } from 'node:path';
import { createReadyCheck } from '../db/check-ready.ts';
import { createAccessStore } from '../db/create-access-store.ts';
import type { Lock } from '../db/hold-lock.ts';
import { lockDataFolder } from '../db/lock-data-folder.ts';
import { sweepRegularly } from '../db/sweep-files.ts';
import { createPassphrases } from './access/create-passphrases.ts';
import { type Access, GuessBook } from './actions/access.ts';
import { doJobPart } from './actions/do-job-part.ts';
import { loadFinishes } from './actions/load-finishes.ts';
import { settleWithin } from './actions/settle-within.ts';
import { steadyNow } from './actions/steady-now.ts';
import { workFor } from './actions/turns.ts';
import { LOG_TEXTS } from './commands/texts.ts';
import type { Config } from './config.ts';
import type { Job } from './core/job/job.ts';
import { Problem } from './core/problems.ts';
import { REQUEST_PROBLEMS } from './core/texts/problems/request.ts';
import { seedDemo } from './demo/seed-demo.ts';
import { takeFirstPictures } from './demo/take-first-pictures.ts';
import { buildApp } from './http/build-app.ts';
import { closeThreads, type Engines, logJobs, openContext, openEngines } from './open-context.ts';
import { BUILT, WORKERS } from './root.ts';

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
  const { context, db, jobs, facts, sweep } = await openContext(config, engines);
  const sweeping = sweepRegularly(sweep, (error) => console.error(LOG_TEXTS.notSwept, error));
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
    version: context.version,
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
        const doPart = (job: Job, part: number, signal: AbortSignal) =>
          workFor({ rank: 'job', name: job.id }, () => doJobPart(context, job, part, signal));
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
      const ended = Promise.allSettled([closed, jobs.stop(), engines.renderer.close()]);
      await settleWithin(ended, DRAIN_MS);
      app.server.closeAllConnections();
      await closed;
      await closeThreads(engines);
      await settleWithin(ended, DRAIN_MS / 3);
      await sweeping.stop();
      await db.destroy();
      lock.release();
    },
  };
}
