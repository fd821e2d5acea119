import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { createRenderer } from '../../renderer/create-renderer.ts';
import { encodePicture } from '../../renderer/encode-picture.ts';
import { composeLayers } from '../../renderer/layers/compose-layers.ts';
import { cropLayer } from '../../renderer/layers/layer.ts';
import { makeStool } from '../../server/demo/stool.ts';
import { findBrowser } from '../../server/find-browser.mjs';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { createModelFolder } from '../renderer/models.ts';
import { GLB } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { addPlainFinishes } from './add-plain-finishes.ts';
import { alternate, row, show, summarise } from './measure.ts';

const SIZE_PX = 1024;
const SIZE = { widthPx: SIZE_PX, heightPx: SIZE_PX };
/** The first three slots of the stool take ten finishes each, the others one: a thousand variants. */
const FINISHES = 10;
const VARIED = 3;
const VARIANTS = FINISHES ** VARIED;
/** Direct stills; each takes seconds without a GPU. */
const STILLS = 3;
const MEBI = 1024 * 1024;

/**
 * A job of a thousand variants, as a caller orders it, beside what its parts take by themselves: a direct still for each
 * layer, and composing and encoding for each picture, shared by the cores.
 */
export async function benchThousand(): Promise<void> {
  if (!findBrowser(process.env.DYEWORKS_BROWSER)) {
    console.log('\nNo browser: a thousand variants are not measured.');
    return;
  }
  const each = await measureComposing();
  const service = await startService({}, undefined, { engines: 'own' });
  try {
    const slots = await fill(service);
    const stills: number[] = [];
    const still = `/api/products/STOOL/picture.png?size=${SIZE_PX}&direct=1`;
    // the first starts the browser, loads the file and draws the depth maps
    await need(service.call('GET', still));
    for (let run = 0; run < STILLS; run++) {
      const begun = performance.now();
      await need(service.call('GET', still));
      stills.push(performance.now() - begun);
    }
    const { body } = await service.call('GET', '/health');
    console.log(`\n${VARIANTS} variants of the demo’s stool at ${SIZE_PX} px, ${body.renderer.gl}`);

    const begun = performance.now();
    const memory = { before: process.memoryUsage().rss, most: 0 };
    const watching = setInterval(() => {
      memory.most = Math.max(memory.most, process.memoryUsage().rss);
    }, 200);
    const answers = watchAnswers(service);
    const job = await run(service);
    const took = performance.now() - begun;
    clearInterval(watching);
    const { median, max } = summarise(await answers.stop());

    const layers = VARIED * FINISHES + (slots.length - VARIED) + 1;
    const cores = availableParallelism();
    const allowed = layers * summarise(stills).median + (VARIANTS * each.median) / cores;
    row('a direct still', show(summarise(stills)));
    row('composing and encoding one, on one core', show(each));
    row(`${layers} stills and ${VARIANTS} × that ÷ ${cores} cores`, seconds(allowed));
    row(`the job, ${job.done} pictures, ${job.failed} of which failed`, seconds(took));
    row('  ÷ what its parts take', (took / allowed).toFixed(2), 'aim ≤ 1.2');
    row('  pictures a second', (VARIANTS / (took / 1000)).toFixed(1));
    row('memory of the service above what it had before', `${((memory.most - memory.before) / MEBI).toFixed(0)} MB`);
    row('answers meanwhile', `median ${median.toFixed(1)} ms, most ${max.toFixed(0)} ms`);
  } finally {
    await service.close();
  }
}

/** Summing the stool of its layers and writing it as PNG, in this thread. */
async function measureComposing() {
  const models = createModelFolder();
  const renderer = createRenderer({
    browserPath: findBrowser(process.env.DYEWORKS_BROWSER)!,
    studioFolder: join(ROOT, '.build', 'studio'),
    noSandbox: NO_SANDBOX,
    shotTimeoutMs: 300_000,
  });
  try {
    const { bytes, slots, materialOf } = await addPlainFinishes(await makeStool(), 1);
    const raws = await renderer.takeLayers({
      file: models.write('stool', bytes),
      assignments: slots.flatMap((parts, slot) => parts.map((part) => ({ ...part, material: materialOf(slot, 0) }))),
      layers: ['ground', ...slots],
      view: 'three-quarter',
      mount: 'floor',
      ...SIZE,
      quality: 'still',
    });
    const layers = raws.map(cropLayer);
    const { each } = await alternate(15, {
      each: () => encodePicture({ ...SIZE, ...composeLayers(SIZE, layers, null) }, 'png'),
    });
    return each;
  } finally {
    await renderer.close();
    models.remove();
  }
}

/** The stool with its finishes and its schedule; answers the keys of its slots. */
async function fill(service: TestService): Promise<readonly string[]> {
  const finishes = Array.from({ length: FINISHES }, (_, number) => `F-${number}`);
  for (const [number, code] of finishes.entries()) {
    const level = (shift: number) => (40 + ((number * 61 + shift) % 180)).toString(16);
    const colour = { hex: `#${level(0)}${level(70)}${level(140)}` };
    await need(service.call('PUT', `/api/finishes/${code}`, { name: `Finish ${number}`, family: 'paint', colour }));
  }
  await need(service.call('POST', '/api/products', { code: 'STOOL', name: 'Stool' }));
  const received = await need(service.call('PUT', '/api/products/STOOL/model', await makeStool(), GLB));
  const slots = received.slots.map(({ slot }: { slot: string }) => slot) as string[];
  const variants = Array.from({ length: VARIANTS }, (_, number) => ({
    code: `V-${number}`,
    name: `Variant ${number}`,
    choices: Object.fromEntries(
      slots.map((slot, place) => [
        slot,
        finishes[place < VARIED ? Math.floor(number / FINISHES ** place) % FINISHES : 0],
      ]),
    ),
  }));
  await need(service.call('PUT', '/api/products/STOOL/schedule', { default: 'V-0', variants }));
  return slots;
}

async function run(service: TestService): Promise<{ readonly done: number; readonly failed: number }> {
  const { id } = await need(service.call('POST', '/api/products/STOOL/pictures', { sizes: [SIZE_PX] }));
  for (;;) {
    const job = await need(service.call('GET', `/api/jobs/${id}`));
    if (job.state !== 'queued' && job.state !== 'running') return job;
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
}

/** How long an answer takes that has nothing to do with pictures, again and again. */
function watchAnswers(service: TestService): { stop(): Promise<readonly number[]> } {
  const samples: number[] = [];
  let stopped = false;
  const watching = (async () => {
    while (!stopped) {
      const begun = performance.now();
      await need(service.call('GET', '/api/products'));
      samples.push(performance.now() - begun);
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
  })();
  return {
    async stop() {
      stopped = true;
      await watching;
      return samples;
    },
  };
}

async function need(answer: ReturnType<TestService['call']>) {
  const { status, body } = await answer;
  if (status >= 400) throw new Error(`${status} ${JSON.stringify(body)}`);
  return body;
}

const seconds = (ms: number) => `${(ms / 1000).toFixed(1)} s`;
