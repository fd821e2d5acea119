import { createRenderer, type RendererOptions } from '../../renderer/create-renderer.ts';
import { createClosedProblem } from '../../renderer/queues.ts';
import type { Renderer } from '../../server/core/ports/renderer.ts';
import { once } from '../support/once.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from './built-studio.ts';

/**
 * A renderer of its own in the tests' browser, already started: for tests of options, or tests that end the browser.
 */
export async function openOwnRenderer(options: Partial<RendererOptions> = {}): Promise<Renderer> {
  const renderer = createRenderer({
    browserPath: findBrowser(),
    studioFolder: await buildStudio(),
    noSandbox: NO_SANDBOX,
    launchTimeoutMs: 60_000,
    ...options,
  });
  await renderer.getFacts();
  return renderer;
}

/** The renderer that all test files of a worker share, because its browser takes seconds to start. It ends with the process. */
const openShared = once(() => openOwnRenderer());

/** The shared renderer, started. Closing it is as in {@link lendRenderer}. */
export async function openRenderer(): Promise<Renderer> {
  await openShared();
  return lendRenderer();
}

/**
 * The shared renderer for a service, which starts it with its first shot, like its own. Closing it refuses the shots that were
 * taken through it, like a closed renderer, and leaves the browser to the others.
 */
export function lendRenderer(): Renderer {
  const running = new Set<Promise<unknown>>();
  let closed = false;
  let refuse: (error: Error) => void = () => undefined;
  const closing = new Promise<never>((_, reject) => {
    refuse = reject;
  });
  closing.catch(() => undefined);
  const use = async <Result>(take: (renderer: Renderer) => Promise<Result>): Promise<Result> => {
    if (closed) throw createClosedProblem();
    const work = openShared().then(take);
    running.add(work);
    const settle = () => running.delete(work);
    work.then(settle, settle);
    return Promise.race([work, closing]);
  };
  return {
    takeProduct: (shot, turn) => use((renderer) => renderer.takeProduct(shot, turn)),
    takeLayers: (shot, turn) => use((renderer) => renderer.takeLayers(shot, turn)),
    takeSwatch: (shot, turn) => use((renderer) => renderer.takeSwatch(shot, turn)),
    takeSphere: (shot, turn) => use((renderer) => renderer.takeSphere(shot, turn)),
    printSheet: (sheet, pictures, turn) => use((renderer) => renderer.printSheet(sheet, pictures, turn)),
    getFacts: (turn) => use((renderer) => renderer.getFacts(turn)),
    async close() {
      closed = true;
      refuse(createClosedProblem());
      await Promise.allSettled(running);
    },
  };
}
