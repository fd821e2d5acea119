import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { createRenderer } from '../../renderer/create-renderer.ts';
import { encodePicture } from '../../renderer/encode-picture.ts';
import type { Renderer } from '../../server/core/ports/renderer.ts';
import { findBrowser } from '../../server/find-browser.mjs';
import { createModels } from '../../server/gltf/create-models.ts';
import { ROOT } from '../../server/root.ts';
import { finishes } from './delivery.ts';
import { alternate, row, show } from './measure.ts';

const SIZE_PX = 256;

/** Swatches from the warm page, beside a browser started for each picture. */
export async function benchSwatches(folder: string): Promise<void> {
  const browserPath = findBrowser(process.env.DYEWORKS_BROWSER);
  if (!browserPath) {
    console.log('\nNo browser: swatches are not measured.');
    return;
  }
  await mkdir(folder, { recursive: true });
  const studioFolder = join(ROOT, '.build', 'studio');
  const models = createModels();
  const kits = await Promise.all(
    [...finishes.values()].map((finish) => models.makeKit(finish, () => Promise.reject(new Error('no maps')))),
  );
  const take = async (renderer: Renderer, i: number) => {
    const raw = await renderer.takeSphere({
      key: String(i),
      kit: kits[i % kits.length]!,
      sizePx: SIZE_PX,
      ground: 'transparent',
    });
    await encodePicture(raw, 'png');
  };
  const warm = createRenderer({ browserPath, studioFolder });
  const { driver, gl } = await warm.getFacts();
  console.log(`\nSwatches of ${SIZE_PX} px, ${driver}: ${gl}`);
  await take(warm, 0);
  let next = 0;
  const times = await alternate(3, {
    steady: async () => {
      for (let n = 0; n < 20; n++) await take(warm, next++);
    },
    fresh: async () => {
      const renderer = createRenderer({ browserPath, studioFolder });
      await take(renderer, next++);
      await renderer.close();
    },
  });
  row('one swatch, steadily', `${(times.steady.median / 20).toFixed(1)} ms`);
  row('a browser for one swatch', show(times.fresh));
  row('  ÷ steadily', (times.fresh.median / (times.steady.median / 20)).toFixed(1), 'aim ≥ 20');
  await warm.close();
  await models.close();
}
