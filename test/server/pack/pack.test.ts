import { execFile, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readFileSync } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { promisify } from 'node:util';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { ROOT } from '../../../server/root.ts';
import { readGlb, variantNames } from '../../support/glb.ts';
import { addProduct, GLB, putLineOfFinishes } from '../../support/job.ts';
import { readRegistryModel } from '../../support/registry-models.ts';
import { makeClient, type TestService } from '../../support/start-service.ts';

// The package as a stranger gets it: packed, installed into an empty folder with production dependencies alone, and run there.
// Model: registry package @webxr-input-profiles/assets 1.0.20 (MIT).

const run = promisify(execFile);
const MODEL = readRegistryModel('oculus-go/none.glb');

let folder: string;
let installed: string;
let viewerTarball: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-pack-'));
  const packing = await run(process.execPath, ['--import', 'tsx', 'server/pack/pack.ts'], { cwd: ROOT });
  const [viewer, tarball] = packing.stdout.trim().split('\n').slice(-2) as [string, string];
  viewerTarball = viewer;
  await writeFile(join(folder, 'package.json'), '{"private": true}');
  const args = ['install', tarball, '--omit=dev', '--prefer-offline', '--no-audit', '--no-fund', '--loglevel=error'];
  await run('npm', args, { cwd: folder, env: { ...process.env, ...(await offerPrebuilt()) } });
  installed = join(folder, 'node_modules', 'dyeworks');
  await writeFile(join(folder, 'model.glb'), MODEL);
  // a registry that answers slowly is no failure
}, 600_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

/**
 * Version 12 of better-sqlite3 downloads a prebuilt binary, or compiles it for minutes where it cannot. Its installer gets the
 * binary of this checkout in the form of such a download.
 */
async function offerPrebuilt(): Promise<Record<string, string>> {
  const home = dirname(createRequire(import.meta.url).resolve('better-sqlite3/package.json'));
  const { version } = JSON.parse(readFileSync(join(home, 'package.json'), 'utf8'));
  // optional, since a newer Node does not use it
  if (!existsSync(join(home, 'build', 'Release', 'better_sqlite3.node'))) return {};
  const prebuilds = join(folder, 'prebuilds');
  await mkdir(prebuilds);
  const libc = process.platform === 'linux' && !hasGlibc() ? 'musl' : '';
  const name = `better-sqlite3-v${version}-node-v${process.versions.modules}-${process.platform}${libc}-${process.arch}.tar.gz`;
  await run('tar', ['-czf', join(prebuilds, name), '-C', home, 'build/Release/better_sqlite3.node']);
  return { npm_config_better_sqlite3_local_prebuilds: prebuilds };
}

const hasGlibc = () =>
  'glibcVersionRuntime' in (process.report.getReport() as unknown as { header: Record<string, string> }).header;

const command = () => join(folder, 'node_modules', '.bin', 'dyeworks');

it('holds the bundles, the licence, the README and the notice, and no sources', async () => {
  const files = await readdir(installed, { recursive: true });
  for (const file of [
    'LICENSE',
    'NOTICE.md',
    'README.md',
    'server/dyeworks.mjs',
    'server/gltf-worker.mjs',
    'server/import-worker.mjs',
    'server/pixel-worker.mjs',
    'studio/index.html',
    'studio/draco_decoder.wasm',
    'studio/basis_transcoder.wasm',
    'web/index.html',
  ]) {
    expect(files, file).toContain(file);
  }
  const own = files.filter((file) => !file.startsWith('node_modules'));
  expect(own.filter((file) => /\.tsx?$|^test|set-up/.test(file))).toEqual([]);
  for (const name of ['vite', 'tsx', 'typescript', 'vitest', 'puppeteer']) {
    expect([existsSync(join(folder, 'node_modules', name)), existsSync(join(installed, 'node_modules', name))]).toEqual(
      [false, false],
    );
  }
});

it('names every installed and every bundled package in its notice', async () => {
  const notice = readFileSync(join(installed, 'NOTICE.md'), 'utf8');
  const packages = (await listPackages(folder)).filter(({ name }) => name !== 'dyeworks');
  expect(packages.length).toBeGreaterThan(40);
  // npm may install a newer version of what a dependency needs
  const unnamed = packages.filter(({ name }) => !notice.includes(`| ${name} |`));
  expect(unnamed).toEqual([]);
  // the LGPL part of sharp, the font, what three carries, and what is only in the bundles
  expect(notice).toMatch(/\| @img\/sharp-libvips-\S+ \| \S+ \| LGPL-3\.0-or-later \|/);
  expect(notice).toContain('SIL OPEN FONT LICENSE');
  for (const name of [
    'preact',
    'three',
    'fastify',
    'kysely',
    'typebox',
    'Draco decoder',
    'Basis Universal transcoder',
  ]) {
    expect(notice).toContain(`| ${name} |`);
  }
});

async function listPackages(top: string): Promise<{ name: string; version: string }[]> {
  const paths = await readdir(join(top, 'node_modules'), { recursive: true });
  return paths
    .filter((path) => /(^|node_modules\/)(@[^/]+\/)?[^/@.][^/]*\/package\.json$/.test(path))
    .map((path) => JSON.parse(readFileSync(join(top, 'node_modules', path), 'utf8')))
    .filter(({ name, version }) => name !== undefined && version !== undefined);
}

it('is also the viewer in a package of its own, with types that a shop’s compiler takes', async () => {
  const shop = join(folder, 'shop');
  await mkdir(shop);
  await run('tar', ['-xzf', viewerTarball, '-C', shop]);
  const home = join(shop, 'package');
  const files = await readdir(home);
  for (const file of ['LICENSE', 'NOTICE.md', 'README.md', 'custom-elements.json', 'dyeworks-viewer.js', 'stage.js']) {
    expect(files, file).toContain(file);
  }
  const head = JSON.parse(readFileSync(join(home, 'package.json'), 'utf8'));
  expect([head.name, head.dependencies, existsSync(join(home, head.types))]).toEqual([
    'dyeworks-viewer',
    undefined,
    true,
  ]);
  const notice = readFileSync(join(home, 'NOTICE.md'), 'utf8');
  for (const name of ['three', 'Draco decoder', 'Basis Universal transcoder', 'meshoptimizer']) {
    expect(notice).toContain(`| ${name} |`);
  }
  expect(notice).not.toContain('| fastify |');
  await writeFile(
    join(shop, 'page.ts'),
    `import type { VariantChange } from './package/dyeworks-viewer.js';
const viewer = document.querySelector('dyeworks-viewer')!;
viewer.addEventListener('variantchange', (event) => {
  const { code }: VariantChange = (event as CustomEvent<VariantChange>).detail;
  viewer.variant = code;
});
viewer.texts = { variants: 'Varianten' };
const first: string | undefined = viewer.variants[0]?.name;
// @ts-expect-error a number is no address
viewer.src = first === undefined ? 0 : first;
`,
  );
  const compiler = join(ROOT, 'node_modules', 'typescript', 'bin', 'tsc');
  const options = ['--ignoreConfig', '--noEmit', '--strict', '--target', 'es2022', '--module', 'esnext'];
  await run(process.execPath, [compiler, join(shop, 'page.ts'), ...options, '--moduleResolution', 'bundler']);
});

it('surveys a model on the command line', async () => {
  const { stdout } = await run(command(), ['survey', 'model.glb', '--json'], { cwd: folder });
  expect(JSON.parse(stdout).survey.counts.triangles).toBeGreaterThan(100);
  await expect(run(command(), ['survey'], { cwd: folder })).rejects.toMatchObject({ code: 2 });
});

it('serves: it receives a model, makes a delivery and a picture, and ends on request', async () => {
  const service = spawn(command(), ['serve'], {
    cwd: folder,
    stdio: ['ignore', 'pipe', 'inherit'],
    env: {
      ...process.env,
      DYEWORKS_PORT: '0',
      DYEWORKS_DEMO: 'off',
      DYEWORKS_DATA: join(folder, 'data'),
      DYEWORKS_SANDBOX: process.getuid?.() === 0 ? 'off' : 'auto',
    },
  });
  try {
    const ended = once(service, 'exit').then(([code]) => {
      throw new Error(`The service ended with ${code} before it served.`);
    });
    const [line] = (await Promise.race([once(service.stdout, 'data'), ended])) as [Buffer];
    ended.catch(() => undefined);
    const url = /http:\S+/.exec(line.toString())![0];
    const client: TestService = {
      ...makeClient(url),
      dataFolder: join(folder, 'data'),
      filled: Promise.resolve(),
      close: async () => undefined,
    };
    await putLineOfFinishes(client);
    const slots = await addProduct(client, 'GO', MODEL);
    const choices = Object.fromEntries(slots.map((slot) => [slot, 'OAK-1']));
    const schedule = { default: 'V', variants: [{ code: 'V', name: 'Pale ash', choices }] };
    expect((await client.call('PUT', '/api/products/GO/schedule', schedule)).status).toBe(200);
    expect((await client.call('POST', '/api/products/GO/deliveries', {})).status).toBe(201);
    const delivered = await client.call('GET', '/api/products/GO/deliveries/1/model.glb');
    expect(delivered.headers.get('content-type')).toBe(GLB['content-type']);
    expect(variantNames(readGlb(delivered.body))).toEqual(['Pale ash']);
    const picture = await client.call('GET', '/api/products/GO/pictures/V.png?size=64');
    expect([picture.status, (await sharp(picture.body).metadata()).width]).toEqual([200, 64]);
    const page = await fetch(url);
    expect([page.status, page.headers.get('content-type')]).toEqual([200, expect.stringContaining('text/html')]);
  } finally {
    service.kill('SIGTERM');
  }
  expect(await once(service, 'exit')).toEqual([0, null]);
});
