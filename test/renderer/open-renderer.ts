import { createRenderer, type RendererOptions } from '../../renderer/create-renderer.ts';
import { createClosedProblem } from '../../renderer/queues.ts';
import type { Renderer } from '../../server/core/ports/renderer.ts';
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

let shared: Promise<Renderer> | undefined;

/**
 * The renderer that all test files of a worker share, because its browser takes seconds to start. It ends with the
 * process. Closing the returned one refuses its own shots, like a closed renderer, and leaves the browser to the
 * others.
 */
export async function openRenderer(): Promise<Renderer> {
  shared ??= openOwnRenderer();
  return lend(await shared);
}

/** The shared renderer for a service. The service opens it with its first shot, like its own. */
export function lendRenderer(): Renderer {
  const open = () => (shared ??= openOwnRenderer());
  return lend({
    takeProduct: async (shot) => (await open()).takeProduct(shot),
    takeLayers: async (shot) => (await open()).takeLayers(shot),
    takeSwatch: async (shot) => (await open()).takeSwatch(shot),
    takeSphere: async (shot) => (await open()).takeSphere(shot),
    printSheet: async (sheet, pictures) => (await open()).printSheet(sheet, pictures),
    getFacts: async () => (await open()).getFacts(),
    close: async () => undefined,
  });
}

function lend(renderer: Renderer): Renderer {
  const running = new Set<Promise<unknown>>();
  let closed = false;
  const refusals = new Set<(error: Error) => void>();
  const unlessClosed = async <Result>(take: () => Promise<Result>): Promise<Result> => {
    if (closed) throw createClosedProblem();
    const work = take();
    running.add(work);
    let refuse: (error: Error) => void = () => undefined;
    const refused = new Promise<never>((_, reject) => {
      refuse = reject;
      refusals.add(reject);
    });
    try {
      return await Promise.race([work, refused]);
    } finally {
      refusals.delete(refuse);
      work.then(
        () => running.delete(work),
        () => running.delete(work),
      );
    }
  };
  return {
    takeProduct: (shot) => unlessClosed(() => renderer.takeProduct(shot)),
    takeLayers: (shot) => unlessClosed(() => renderer.takeLayers(shot)),
    takeSwatch: (shot) => unlessClosed(() => renderer.takeSwatch(shot)),
    takeSphere: (shot) => unlessClosed(() => renderer.takeSphere(shot)),
    printSheet: (sheet, pictures) => unlessClosed(() => renderer.printSheet(sheet, pictures)),
    getFacts: () => unlessClosed(() => renderer.getFacts()),
    async close() {
      closed = true;
      for (const refuse of refusals) refuse(createClosedProblem());
      await Promise.allSettled(running);
    },
  };
}
