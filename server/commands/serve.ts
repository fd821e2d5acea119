import { readConfig } from '../config.ts';
import { CALL_TEXTS, RESULT_TEXTS } from './texts.ts';

/** Time that work in progress has to finish once the service is told to stop. */
const CLOSE_TIMEOUT_MS = 15_000;

/** `dyeworks serve`: serves until a signal ends it, which is exit status 0. */
export async function serveCommand(env: Readonly<Record<string, string | undefined>>): Promise<number> {
  const config = readConfig(env);
  // loaded after the settings are known to be right, so that a wrong one is answered at once
  const { createService } = await import('../main.ts');
  const service = await createService(config);
  let closing = false;
  const stop = () => {
    if (closing) return;
    closing = true;
    setTimeout(() => process.exit(0), CLOSE_TIMEOUT_MS).unref();
    service.close().then(
      () => process.exit(0),
      (error: unknown) => {
        console.error(error);
        process.exit(0);
      },
    );
  };
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);
  try {
    console.log(RESULT_TEXTS.serving(await service.listen()));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EADDRINUSE') throw error;
    console.error(CALL_TEXTS.portInUse(config.port));
    process.exit(2);
  }
  return 0;
}
