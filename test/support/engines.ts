import { createPixelThreads } from '../../renderer/pixels/pixel-threads.ts';
import { createModels } from '../../server/gltf/create-models.ts';
import { createImports } from '../../server/import/create-imports.ts';
import type { Engines } from '../../server/open-context.ts';
import { createPlanner } from '../../server/planning/create-planner.ts';
import { lendRenderer } from '../renderer/open-renderer.ts';

// Threads that all test files of a worker share: each needs seconds to start, since it loads the sources through tsx. They end
// with the process.

let models: ReturnType<typeof createModels> | undefined;
let others: Pick<Engines, 'imports' | 'planner' | 'threads'> | undefined;

const leaveOpen = async () => undefined;

/** The shared {@link Engines.models}. Closing them does nothing. */
export function lendModels(): Engines['models'] {
  models ??= createModels();
  return { ...models, close: leaveOpen };
}

/** Shared engines for a service. */
export function lendEngines(): Engines {
  others ??= { imports: createImports(), planner: createPlanner(), threads: createPixelThreads() };
  return {
    models: lendModels(),
    imports: { ...others.imports, close: leaveOpen },
    planner: { ...others.planner, close: leaveOpen },
    threads: { ...others.threads, close: leaveOpen },
    renderer: lendRenderer(),
  };
}
