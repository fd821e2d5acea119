import { readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createRenderer } from '../../renderer/create-renderer.ts';
import { resolveFinish } from '../../server/core/finish/resolve-finish.ts';
import type { ProductShot, Renderer, StudioFile } from '../../server/core/ports/renderer.ts';
import { planColourCard } from '../../server/core/sheet/plan-colour-card.ts';
import { listBrowserProcesses } from '../support/browser-processes.ts';
import { buildStudio, findBrowser, NO_SANDBOX } from './built-studio.ts';
import { createModelFolder, makeBoxes, makeBrokenKit, makeEmpty, writeFinishGlb } from './models.ts';

/** Profile folders of browsers that this process started. Other test files start theirs at the same time. */
const listProfiles = () => readdirSync(tmpdir()).filter((name) => name.startsWith(`dyeworks-studio-${process.pid}-`));

const FINISH = { finish: 'A', name: 'Blue', family: 'paint', colour: { hex: '#2f5d73' } } as const;

describe('the renderer', () => {
  const models = createModelFolder();
  const before = listProfiles();
  const pids: number[] = [];
  let studioFolder: string;
  let renderer: Renderer;
  let boxes: StudioFile;
  let empty: StudioFile;
  const shot = (more: Partial<ProductShot> = {}): ProductShot => ({
    file: boxes,
    assignments: [],
    view: 'three-quarter',
    mount: 'floor',
    widthPx: 64,
    heightPx: 64,
    ground: 'transparent',
    quality: 'draft',
    ...more,
  });

  /** Another renderer with this deadline, which reports every browser it opens. */
  const openHasty = (shotTimeoutMs: number, opened: (pid: number) => void) =>
    createRenderer({
      browserPath: findBrowser(),
      studioFolder,
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      shotTimeoutMs,
      log: (_, details) => typeof details?.pid === 'number' && opened(details.pid),
    });

  beforeAll(async () => {
    studioFolder = await buildStudio();
    boxes = models.write('boxes', await makeBoxes([[0.6, 0.05, 0.05]]));
    empty = models.write('empty', await makeEmpty());
    renderer = createRenderer({
      browserPath: findBrowser(),
      studioFolder,
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      shotsPerPage: 9,
      log: (_, details) => typeof details?.pid === 'number' && pids.push(details.pid),
    });
  }, 120_000);
  afterAll(async () => {
    await renderer?.close();
    models.remove();
  });

  it('gives the same bytes for the same shot, in a new browser too', { timeout: 120_000 }, async () => {
    const first = await renderer.takeProduct(shot());
    expect(await renderer.takeProduct(shot())).toEqual(first);
    process.kill(pids.at(-1)!, 'SIGKILL');
    expect(await renderer.takeProduct(shot())).toEqual(first);
    expect(pids.length).toBeGreaterThanOrEqual(2);
  });

  it('takes a shot once more when the browser crashes', { timeout: 120_000 }, async () => {
    const expected = await renderer.takeProduct(shot({ quality: 'still', widthPx: 256, heightPx: 256 }));
    const browsers = pids.length;
    const retaken = renderer.takeProduct(
      shot({ quality: 'still', widthPx: 256, heightPx: 256, view: 'three-quarter' }),
    );
    process.kill(pids.at(-1)!, 'SIGKILL');
    expect(Buffer.from((await retaken).rgba).equals(Buffer.from(expected.rgba))).toBe(true);
    expect(pids.length).toBe(browsers + 1);
  });

  it('refuses a model without triangles, and continues', { timeout: 60_000 }, async () => {
    await expect(renderer.takeProduct(shot({ file: empty }))).rejects.toMatchObject({ code: 'picture-nothing-to-see' });
    expect((await renderer.takeProduct(shot())).rgba).toHaveLength(64 * 64 * 4);
  });

  it('reports a texture that cannot be decoded, and continues', { timeout: 60_000 }, async () => {
    const broken = { key: 'broken', kit: await makeBrokenKit(), sizePx: 64, ground: 'white' } as const;
    await expect(renderer.takeSphere(broken)).rejects.toMatchObject({
      code: 'picture-map-unreadable',
      message: expect.stringContaining('texture 0 (“broken”)'),
    });
    const sphere = { key: 'plain', kit: await writeFinishGlb([0.2, 0.4, 0.6]), sizePx: 64, ground: 'white' } as const;
    expect((await renderer.takeSphere(sphere)).rgba).toHaveLength(64 * 64 * 4);
  });

  it('reports a model that cannot be read at all', { timeout: 60_000 }, async () => {
    const rubbish = models.write('rubbish', new Uint8Array([1, 2, 3]));
    await expect(renderer.takeProduct(shot({ file: rubbish }))).rejects.toMatchObject({ code: 'renderer-failed' });
  });

  it('assigns materials to the named primitives, and removes them again', { timeout: 60_000 }, async () => {
    const plain = await renderer.takeProduct(shot());
    const dressed = await renderer.takeProduct(shot({ assignments: [{ mesh: 1, primitive: 0, material: 1 }] }));
    expect(dressed.rgba).not.toEqual(plain.rgba);
    expect((await renderer.takeProduct(shot())).rgba).toEqual(plain.rgba);
  });

  // The graphics process's context then reads as zeros, some time before the page hears that it is lost.
  it.each(['gpu-process', 'renderer'])(
    'takes a shot once more when its %s dies',
    { timeout: 120_000 },
    async (kind) => {
      const big = shot({ quality: 'still', widthPx: 256, heightPx: 256 });
      const expected = await renderer.takeProduct(big);
      const browsers = pids.length;
      const retaken = renderer.takeProduct(big);
      const helpers = listBrowserProcesses(pids.at(-1)!).filter((each) => each.kind === kind);
      for (const { pid } of helpers) process.kill(pid, 'SIGKILL');
      expect(Buffer.from((await retaken).rgba).equals(Buffer.from(expected.rgba))).toBe(true);
      expect(helpers.length).toBeGreaterThan(0);
      expect(pids.length).toBe(browsers + 1);
    },
  );

  it('reloads its page after a number of shots, unnoticed by callers', { timeout: 120_000 }, async () => {
    const seen: number[] = [];
    const brief = createRenderer({
      browserPath: findBrowser(),
      studioFolder,
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      shotsPerPage: 2,
      log: (_, details) => typeof details?.pid === 'number' && seen.push(details.pid),
    });
    const expected = await brief.takeProduct(shot());
    const taken = await Promise.all(Array.from({ length: 6 }, () => brief.takeProduct(shot())));
    for (const picture of taken) expect(picture).toEqual(expected);
    expect(seen).toHaveLength(1);
    await brief.close();
  });

  it('ends a browser that hangs, and takes the shot once more', { timeout: 120_000 }, async () => {
    const expected = await renderer.takeProduct(shot());
    const seen: number[] = [];
    const patient = openHasty(8_000, (pid) => seen.push(pid));
    await patient.getFacts();
    process.kill(seen[0]!, 'SIGSTOP');
    expect(await patient.takeProduct(shot())).toEqual(expected);
    expect(seen).toHaveLength(2);
    expect(() => process.kill(seen[0]!, 0)).toThrow();
    await patient.close();
  });

  it('refuses a shot when the browser hangs twice, and leaves no process behind', { timeout: 60_000 }, async () => {
    const seen: number[] = [];
    const hasty = openHasty(500, (pid) => {
      seen.push(pid);
      // A stopped process cannot answer.
      process.kill(pid, 'SIGSTOP');
    });
    await expect(hasty.takeProduct(shot())).rejects.toMatchObject({
      code: 'renderer-failed',
      message: expect.stringMatching(/did not finish the picture in two attempts of 0.5 s/),
    });
    expect(seen).toHaveLength(2);
    for (const pid of seen) expect(() => process.kill(pid, 0)).toThrow();
    await hasty.close();
  });

  it('prints a sheet once more when the browser hangs', { timeout: 120_000 }, async () => {
    const seen: number[] = [];
    const patient = openHasty(8_000, (pid) => seen.push(pid));
    await patient.getFacts();
    process.kill(seen[0]!, 'SIGSTOP');
    const card = planColourCard(
      {
        line: { line: 'L', name: 'Line' },
        range: [{ finish: FINISH, grade: 'A', status: 'current' }],
        resolve: () => resolveFinish(FINISH, null),
        articleOf: () => null,
        panels: false,
        date: '2026-11-26',
      },
      { paper: 'a4', bleedMm: 0, press: false },
    );
    const pdf = await patient.printSheet(card, {});
    expect(Buffer.from(pdf.subarray(0, 5)).toString()).toBe('%PDF-');
    expect(seen).toHaveLength(2);
    await patient.close();
  });

  it('stops the current shot when it is closed, and starts no other browser', { timeout: 60_000 }, async () => {
    let opened = 0;
    const brief = createRenderer({
      browserPath: findBrowser(),
      studioFolder,
      noSandbox: NO_SANDBOX,
      launchTimeoutMs: 60_000,
      log: (_, details) => typeof details?.pid === 'number' && opened++,
    });
    await brief.getFacts();
    const abandoned = expect(
      brief.takeProduct(shot({ quality: 'still', widthPx: 1024, heightPx: 1024 })),
    ).rejects.toMatchObject({ code: 'renderer-closing' });
    await new Promise((resolve) => setImmediate(resolve));
    await brief.close();
    await abandoned;
    expect(opened).toBe(1);
  });

  it('names the browser that could not be started', async () => {
    const lost = createRenderer({ browserPath: '/nowhere/chromium', studioFolder });
    await expect(lost.getFacts()).rejects.toMatchObject({ code: 'renderer-failed' });
    await lost.close();
  });

  it('leaves no profile folder when it is closed', { timeout: 60_000 }, async () => {
    await renderer.close();
    expect(listProfiles().filter((name) => !before.includes(name))).toEqual([]);
    for (const pid of pids) expect(() => process.kill(pid, 0)).toThrow();
  });
});
