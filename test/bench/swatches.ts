import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { createRenderer } from '../../renderer/create-renderer.ts';
import { encodePicture } from '../../renderer/encode-picture.ts';
import type { ShotAnswer } from '../../renderer/page/main.ts';
import type { SwatchOrder } from '../../renderer/page/take-swatch.ts';
import { openSession, type SessionOptions } from '../../renderer/studio-session.ts';
import type { Renderer } from '../../server/core/ports/renderer.ts';
import { findBrowser } from '../../server/find-browser.mjs';
import { createModels } from '../../server/gltf/create-models.ts';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { finishes } from './delivery.ts';
import { alternate, row, show } from './measure.ts';

const SIZE_PX = 256;
/** Swatches to a run. */
const TAKEN = 20;
/** Asked for at once, as a page that shows a range does. */
const ASKED = 3;

/** Swatches from the warm page, beside drawing and encoding alone, and beside a browser started for each picture. */
export async function benchSwatches(folder: string): Promise<void> {
  const browserPath = findBrowser(process.env.DYEWORKS_BROWSER);
  if (!browserPath) {
    console.log('\nNo browser: swatches are not measured.');
    return;
  }
  await mkdir(folder, { recursive: true });
  const options = { browserPath, studioFolder: join(ROOT, '.build', 'studio'), noSandbox: NO_SANDBOX };
  const models = createModels();
  const kits = await Promise.all(
    [...finishes.values()].map((finish) => models.writeFinishGlb(finish, () => Promise.reject(new Error('no maps')))),
  );
  const take = async (renderer: Renderer, i: number) => {
    const kit = kits[i % kits.length]!;
    const raw = await renderer.takeSphere({ key: String(i), kit, sizePx: SIZE_PX, ground: 'transparent' });
    await encodePicture(raw, 'png');
    return raw;
  };
  const warm = createRenderer(options);
  const bare = await openBare(options, kits);
  const { driver, gl } = await warm.getFacts();
  console.log(`\nSwatches of ${SIZE_PX} px, ${driver}: ${gl}`);
  const sample = await take(warm, 0);
  await bare.draw(1);
  let next = 0;
  const times = await alternate(5, {
    steady: async () => {
      let left = TAKEN;
      const ask = async () => {
        while (left-- > 0) await take(warm, next++);
      };
      await Promise.all(Array.from({ length: ASKED }, ask));
    },
    bare: async () => {
      await bare.draw(TAKEN);
      for (let n = 0; n < TAKEN; n++) await encodePicture(sample, 'png');
    },
    fresh: async () => {
      const renderer = createRenderer(options);
      await take(renderer, next++);
      await renderer.close();
    },
  });
  const steady = times.steady.median / TAKEN;
  row(`one swatch, steadily, ${ASKED} asked for at once`, `${steady.toFixed(1)} ms`);
  row('drawing and encoding one, and nothing else', `${(times.bare.median / TAKEN).toFixed(1)} ms`);
  row('  steadily ÷ this', (times.steady.median / times.bare.median).toFixed(2), 'aim ≤ 1.3');
  row('a browser for one swatch', show(times.fresh));
  row('  ÷ steadily', (times.fresh.median / steady).toFixed(1), 'aim ≥ 20');
  await warm.close();
  await bare.close();
  await models.close();
}

/** Draws swatches in a loop of the page's own: nobody asks for them one by one, and their pixels go nowhere. */
async function openBare(
  options: Omit<SessionOptions, 'launchTimeoutMs'>,
  kits: readonly Uint8Array[],
): Promise<{ draw(count: number): Promise<void>; close(): Promise<void> }> {
  const session = await openSession({ ...options, launchTimeoutMs: 30_000 });
  const urls = kits.map((bytes) => session.server.offer({ bytes }).url);
  const [page] = await session.browser.pages();
  return {
    async draw(count) {
      const orders = Array.from({ length: count }, (_, n) => ({
        url: urls[n % urls.length]!,
        kind: 'sphere' as const,
        light: 'studio' as const,
        sizePx: SIZE_PX,
        ground: 'transparent' as const,
      }));
      const answers = await page!.evaluate(drawInPage, orders);
      const failed = answers.find(({ ok }) => !ok);
      if (failed) throw new Error(JSON.stringify(failed));
    },
    close: () => session.end(),
  };
}

/** Runs in the page; must stand by itself. */
async function drawInPage(orders: readonly SwatchOrder[]): Promise<readonly ShotAnswer[]> {
  const answers: ShotAnswer[] = [];
  for (const order of orders) answers.push(await globalThis.studioPage!.takeSwatch(order, 'data:,'));
  return answers;
}
