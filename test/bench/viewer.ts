import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { BUILT } from '../../server/root.ts';
import { openGlBrowser } from '../support/open-view.ts';
import { openShop } from '../support/shop-page.ts';
import { startService } from '../support/start-service.ts';
import { row, show, summarise } from './measure.ts';

const RUNS = 3;
/** A stool of the demo, of five slots. */
const PRODUCT = 'QM-S45';
/** How much slower the processor of the page is made. */
const THROTTLE = 4;
/** Scripts that a plain file needs after the picker. */
const STAGE = ['stage.js', 'three.core.js'];

/** The viewer on a shop's page: the size of its scripts, its first frame on a slow processor, and a switch of variants. */
export async function benchViewer(): Promise<void> {
  const folder = join(BUILT, 'viewer');
  const weigh = (names: readonly string[]) =>
    names.reduce((sum, name) => sum + gzipSync(readFileSync(join(folder, name)), { level: 9 }).length, 0) / 1000;
  const picker = listImports(folder, 'dyeworks-viewer.js');
  console.log('\nThe viewer on a shop’s page');
  row('scripts of the picker, gzip', `${weigh(picker).toFixed(1)} kB`, 'aim < 12 kB');
  row('three and the rest, gzip', `${weigh(STAGE).toFixed(1)} kB`, 'aim < 190 kB');
  row('decoders and others on demand, files', String(readdirSync(folder).length - picker.length - STAGE.length));

  const service = await startService({ DYEWORKS_DEMO: 'on' }, undefined, { engines: 'own' });
  await service.filled;
  const { body } = await service.call('POST', `/api/products/${PRODUCT}/deliveries`, {});
  const read = async (path: string) => new Uint8Array(await (await fetch(service.url + path)).arrayBuffer());
  const files = { '/model.glb': await read(body.model), '/manifest.json': await read(body.manifest) };
  await service.close();
  const browser = await openGlBrowser();
  const shop = await openShop(browser, files);
  try {
    const [picked, drawn, script]: number[][] = [[], [], []];
    for (let run = -1; run < RUNS; run++) {
      const page = await shop.show('src="/model.glb" manifest="/manifest.json"', {
        before: async (next) => {
          await next.emulateCPUThrottling(THROTTLE);
          await next.evaluateOnNewDocument(() => {
            const look = () => {
              const root = document.querySelector('dyeworks-viewer')?.shadowRoot;
              if (root?.querySelector('input')) Object.assign(globalThis, { picked: performance.now() });
              else setTimeout(look, 4);
            };
            look();
            const told = () => Object.assign(globalThis, { drawn: performance.now() });
            document.addEventListener(
              'load',
              (event) => (event.target as Element | null)?.localName === 'dyeworks-viewer' && told(),
              true,
            );
          });
        },
      });
      await shop.hear('load');
      const times = await page.evaluate(() => {
        const { picked, drawn } = globalThis as unknown as { picked: number; drawn: number };
        return { picked, drawn };
      });
      if (run >= 0) {
        picked!.push(times.picked);
        drawn!.push(times.drawn);
      }
      await page.emulateCPUThrottling(null);
      if (run < 0) continue;
      const names = await shop.read(({ variants }) => variants.slice(0, 2).map(({ name }) => name));
      for (const name of [...names, ...names]) await shop.take(name);
      await new Promise((resolve) => setTimeout(resolve, 4000));
      const before = (await page.metrics()).ScriptDuration!;
      await shop.take(names[0]!);
      await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))));
      script!.push(((await page.metrics()).ScriptDuration! - before) * 1000);
    }
    row(`choices usable, processor ${THROTTLE} times slower`, show(summarise(picked!)));
    row(`first frame of ${PRODUCT}, processor ${THROTTLE} times slower`, show(summarise(drawn!)), 'aim ≤ 1500 ms');
    row('script of a switch, warm', show(summarise(script!)), 'aim ≤ 16 ms');
  } finally {
    await shop.close();
    await browser.close();
  }
}

/** A script with all that it imports at once. */
function listImports(folder: string, entry: string): string[] {
  const all = new Set([entry]);
  for (const name of all) {
    const text = readFileSync(join(folder, name), 'utf8');
    for (const [, found] of text.matchAll(/(?:from|import)\s*["']\.\/([\w.-]+)["']/g)) all.add(found!);
  }
  return [...all];
}
