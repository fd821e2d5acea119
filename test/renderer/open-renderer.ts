import { createRenderer, type RendererOptions } from '../../renderer/create-renderer.ts';
import type { Renderer } from '../../server/core/ports/renderer.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from './built-studio.ts';

/** The renderer in the tests' browser, started. `close` also gives up a studio page that was built for it. */
export async function openRenderer(options: Partial<RendererOptions> = {}): Promise<Renderer> {
  const studio = await buildStudio();
  const renderer = createRenderer({
    browserPath: findBrowser(),
    studioFolder: studio.folder,
    noSandbox: NO_SANDBOX,
    launchTimeoutMs: 60_000,
    ...options,
  });
  await renderer.getFacts();
  return {
    ...renderer,
    async close() {
      await renderer.close();
      studio.remove();
    },
  };
}
