import type { Page } from 'puppeteer-core';
import { DoubleSide, Mesh, MeshBasicMaterial, Ray, Raycaster, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { buildTree, mergeTriangles, toGeometry } from '../../renderer/page/view/pick-geometry.ts';
import { makeGrid } from '../support/make-solid.ts';
import { openGlBrowser } from '../support/open-view.ts';
import { startService } from '../support/start-service.ts';
import { row, show, summarise } from './measure.ts';

const RUNS = 5;
/** A stool of the demo, of five slots. */
const PRODUCT = 'QM-S45';

/** The live view: what a pointer costs on a large model, a change of finish, and how soon something is seen. */
export async function benchView(): Promise<void> {
  benchPicking();
  const service = await startService({ DYEWORKS_DEMO: 'on' }, undefined, { engines: 'own' });
  await service.filled;
  const browser = await openGlBrowser();
  try {
    const page = await browser.newPage();
    await page.setViewport({ width: 1440, height: 900 });
    console.log(`\nThe page of ${PRODUCT}, never opened before`);
    const started = performance.now();
    await page.goto(`${service.url}/products/${PRODUCT}/schedule`);
    await page.waitForSelector('.live-still img, .dimensions', { timeout: 60_000 });
    const first = performance.now() - started;
    await page.waitForSelector('.dimensions', { timeout: 60_000 });
    const live = performance.now() - started;
    const asked = performance.now();
    const finished = await fetch(`${service.url}/api/products/${PRODUCT}/picture.webp?size=1024&view=side`);
    await finished.arrayBuffer();
    const still = performance.now() - asked;
    row('a first image', `${first.toFixed(0)} ms`, 'aim ≤ 2000 ms in software');
    row('the live view', `${live.toFixed(0)} ms`);
    row('  a first image ÷ a finished picture of 1024 px', (first / still).toFixed(2));
    await benchChange(page);
  } finally {
    await browser.close();
    await service.close();
  }
}

/** A ball of a million triangles, and rays that hit it from all around. */
function benchPicking(): void {
  const { positions, indices } = makeGrid(707, 708, (u, v) => [
    Math.sin(Math.PI * v) * Math.cos(2 * Math.PI * u),
    Math.cos(Math.PI * v),
    Math.sin(Math.PI * v) * Math.sin(2 * Math.PI * u),
  ]);
  const places = Float32Array.of(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1);
  const merged = mergeTriangles([{ positions, index: indices, places }]);
  const begun = performance.now();
  const built = buildTree(merged);
  const building = performance.now() - begun;
  const geometry = toGeometry(merged);
  const tree = MeshBVH.deserialize(built, geometry, { setIndex: false });
  const rays = Array.from({ length: 500 }, (_, at) => {
    const from = new Vector3(Math.cos(at * 2.4), Math.sin(at * 0.7) * 0.8, Math.sin(at * 2.4)).multiplyScalar(3);
    return new Ray(from, from.clone().negate().normalize());
  });
  const time = (work: (ray: Ray) => unknown, some: readonly Ray[]) =>
    summarise(
      some.map((ray) => {
        const start = performance.now();
        work(ray);
        return performance.now() - start;
      }),
    );
  const mesh = new Mesh(geometry, new MeshBasicMaterial({ side: DoubleSide }));
  const caster = new Raycaster();
  const plain = (ray: Ray) => {
    caster.ray.copy(ray);
    return caster.intersectObject(mesh);
  };
  const found = time((ray) => tree.raycastFirst(ray, DoubleSide), rays);
  const tried = time(plain, rays.slice(0, RUNS));
  console.log(`\nThe part under a pointer, ${merged.index.length / 3} triangles`);
  row('with the tree', show(found), 'aim ≤ 10 ms');
  row('every triangle tried', show(tried));
  row('  with the tree ÷ without it', (found.median / tried.median).toExponential(1));
  row('building the tree, in a worker', `${building.toFixed(0)} ms`);
}

/** Script of the page from a press of a key until the view is drawn in the next variant, with all that the grid does. */
async function benchChange(page: Page): Promise<void> {
  await page.waitForNetworkIdle({ idleTime: 3000, timeout: 120_000 });
  await page.waitForSelector('.grid [role="gridcell"]');
  const cells = await page.$$('.grid [aria-rowindex="2"] > [role="gridcell"]');
  await cells[2]!.click();
  const samples: number[] = [];
  for (let run = -1; run < RUNS; run++) {
    await new Promise((resolve) => setTimeout(resolve, 3000));
    const before = (await page.metrics()).ScriptDuration!;
    const name = await page.$eval('.view-name', (element) => element.textContent);
    await page.keyboard.press('ArrowDown');
    await page.waitForFunction((old) => document.querySelector('.view-name')?.textContent !== old, {}, name);
    await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))));
    if (run >= 0) samples.push(((await page.metrics()).ScriptDuration! - before) * 1000);
  }
  row('script for another variant, with the grid', show(summarise(samples)), 'aim ≤ 16 ms');
}
