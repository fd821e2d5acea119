import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { createRenderer } from '../../renderer/create-renderer.ts';
import { encodePicture } from '../../renderer/encode-picture.ts';
import { composeLayers } from '../../renderer/layers/compose-layers.ts';
import { cropLayer, type Layer, measureLayer, packLayer, unpackLayer } from '../../renderer/layers/layer.ts';
import type { LayerContent, RawPicture, Renderer, StudioFile } from '../../server/core/ports/renderer.ts';
import { makeStool } from '../../server/demo/stool.ts';
import { findBrowser } from '../../server/find-browser.mjs';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { createModelFolder } from '../renderer/models.ts';
import { comparePictures } from '../support/compare-pictures.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { takeLayer } from '../support/take-layer.ts';
import { addPlainFinishes, type PlainlyFinished } from './add-plain-finishes.ts';
import { alternate, row, show, summarise } from './measure.ts';

const SIZE_PX = 1024;
const SIZE = { widthPx: SIZE_PX, heightPx: SIZE_PX };
const FINISHES = 3;
/** Direct stills; each takes seconds without a GPU. */
const DIRECT = 3;

/** Combinations summed of layers held decoded, beside direct stills of 16 subsamples. */
export async function benchLayers(folder: string): Promise<void> {
  const browserPath = findBrowser(process.env.DYEWORKS_BROWSER);
  if (!browserPath) {
    console.log('\nNo browser: layers are not measured.');
    return;
  }
  await mkdir(folder, { recursive: true });
  const models = createModelFolder();
  const renderer = createRenderer({
    browserPath,
    studioFolder: join(ROOT, '.build', 'studio'),
    noSandbox: NO_SANDBOX,
    shotTimeoutMs: 300_000,
  });
  try {
    const { driver, gl } = await renderer.getFacts();
    for (const [name, bytes] of [
      ['the demo’s stool', await makeStool()],
      ['oculus-go of @webxr-input-profiles/assets', readRegistryModel('oculus-go/none.glb')],
    ] as const) {
      console.log(`\nLayers at ${SIZE_PX} px, ${name}, ${driver}: ${gl}`);
      const model = await addPlainFinishes(bytes, FINISHES);
      await measure(renderer, models.write(name.replace(/\W/g, '-'), model.bytes), model);
    }
  } finally {
    await renderer.close();
    models.remove();
  }
}

async function measure(renderer: Renderer, file: StudioFile, { slots, materialOf }: PlainlyFinished): Promise<void> {
  const shot = (combination: readonly number[]) => ({
    file,
    assignments: slots.flatMap((parts, slot) =>
      parts.map((part) => ({ ...part, material: materialOf(slot, combination[slot]!) })),
    ),
    view: 'three-quarter' as const,
    mount: 'floor' as const,
    ...SIZE,
    quality: 'still' as const,
  });
  const layers = new Map<string, Layer>();
  const layerTimes: number[] = [];
  const shotTimes: number[] = [];
  const first = slots.map(() => 0);
  const take = async (key: string, combination: readonly number[], shows: LayerContent) => {
    const start = performance.now();
    layers.set(key, cropLayer(await takeLayer(renderer, { ...shot(combination), shows })));
    layerTimes.push(performance.now() - start);
  };
  // the first loads the file and draws the depth maps
  await takeLayer(renderer, { ...shot(first), shows: 'ground' });
  for (let run = 0; run < DIRECT; run++) {
    const start = performance.now();
    const all = await renderer.takeLayers({ ...shot(first), layers: ['ground', ...slots] });
    shotTimes.push(performance.now() - start);
    for (const [place, raw] of all.entries()) layers.set(place === 0 ? 'ground' : `${place - 1} 0`, cropLayer(raw));
  }
  for (const [slot, parts] of slots.entries()) {
    for (let finish = 1; finish < FINISHES; finish++) await take(`${slot} ${finish}`, first.with(slot, finish), parts);
  }
  const combine = (n: number) => slots.map((_, slot) => Math.floor(n / FINISHES ** slot) % FINISHES);
  const compose = (n: number): RawPicture => {
    const all = [layers.get('ground')!, ...combine(n).map((finish, slot) => layers.get(`${slot} ${finish}`)!)];
    return { ...SIZE, rgba: composeLayers(SIZE, all, null).rgba };
  };
  const directTimes: number[] = [];
  let most = 0;
  let share = 0;
  for (let run = 0; run < DIRECT; run++) {
    const n = 5 + run * 7;
    const start = performance.now();
    const direct = await renderer.takeProduct({ ...shot(combine(n)), ground: 'transparent' });
    await encodePicture(direct, 'png');
    directTimes.push(performance.now() - start);
    const difference = comparePictures(compose(n).rgba, direct.rgba);
    most = Math.max(most, difference.most);
    share += difference.share / DIRECT;
  }
  let next = 0;
  const sample = compose(1);
  const packed = await packLayer([...layers.values()][1]!);
  const times = await alternate(9, {
    compose: async () => compose(next++),
    png: () => encodePicture(sample, 'png'),
    webp: () => encodePicture(sample, 'webp'),
    jpg: () => encodePicture(sample, 'jpg'),
    both: () => encodePicture(compose(next++), 'png'),
    unpack: () => unpackLayer(packed),
  });
  const direct = summarise(directTimes);
  const memory = [...layers.values()].reduce((sum, layer) => sum + measureLayer(layer), 0) / layers.size;
  row('a direct still of 16 subsamples, and PNG', show(direct));
  row(`all ${slots.length + 1} layers of a first picture, rendered at once`, show(summarise(shotTimes)));
  row('  ÷ direct', (summarise(shotTimes).median / direct.median).toFixed(2), 'aim ≤ 1.5');
  row('one layer of a further finish, rendered', show(summarise(layerTimes)));
  row('  ÷ direct', (summarise(layerTimes).median / direct.median).toFixed(2), 'aim < 1');
  row(
    `  in memory, ${(packed.length / 1024).toFixed(0)} kB stored of the first slot’s`,
    `${(memory / 1024).toFixed(0)} kB`,
  );
  row('one layer from its file', show(times.unpack));
  row('summing a combination of layers held decoded', show(times.compose));
  row(
    'PNG · WebP · JPEG of it',
    [times.png, times.webp, times.jpg].map(({ median }) => `${median.toFixed(0)} ms`).join(' · '),
  );
  row('summing and PNG', show(times.both));
  row('  direct ÷ summing and PNG', (direct.median / times.both.median).toFixed(0), 'aim ≥ 50');
  row('  share of the encoding', `${((100 * times.png.median) / times.both.median).toFixed(0)} %`);
  row('largest difference from the direct picture', `${most} of 255`, 'aim ≤ 1');
  row('channels that differ', `${(share * 100).toFixed(3)} %`);
}
